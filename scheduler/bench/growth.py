"""Time and memory against size, as a picture: one dot a run, both scales by powers of ten."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from html import escape
from math import ceil, floor, log10
from statistics import median

from scheduler.bench.one import OURS
from scheduler.bench.outcome import Record
from scheduler.bench.sizes import FAMILIES

PANEL_W, PANEL_H, LEFT, TOP, APART_X, APART_Y = 310, 190, 60, 50, 90, 95
WIDTH, HEIGHT = LEFT + 2 * PANEL_W + APART_X + 30, TOP + 2 * PANEL_H + APART_Y + 55
INK, PALE, DOT = "#3a2f28", "#d8cdc2", "#a4471c"
NOTABLE = 12
"""Pixels from the dots to their family's name."""

Value = Callable[[Record], float | None]


def growth_svg(records: Iterable[Record]) -> str:
    """The picture as SVG text: the first audited plan, and memory, against the pieces and the smokers of a weekend."""
    ours = [r for r in records if r.method == OURS and not r.part and r.cents is not None]
    values: tuple[tuple[str, Value], ...] = (
        ("First audited plan, seconds", lambda r: r.first_s),
        ("Memory of all its processes, MB", lambda r: float(r.memory_mb)),
    )
    body = [
        line
        for row, (title, value) in enumerate(values)
        for column, across in enumerate(("pieces, sausages among them", "smokers"))
        for line in _panel(_Place(row, column), title, across, value, ours)
    ]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'font-family="sans-serif" font-size="13" fill="{INK}">'
    )
    return "\n".join([head, f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>', *body, "</svg>"]) + "\n"


def size_of(family: str) -> tuple[int, int]:
    """Pieces, the sausages among them, and smokers of a family."""
    found = FAMILIES[family]
    return found.pieces + found.sausages, found.smokers


@dataclass(frozen=True, slots=True)
class _Place:
    """A panel of the picture."""

    row: int
    column: int

    @property
    def left(self) -> int:
        return LEFT + self.column * (PANEL_W + APART_X)

    @property
    def top(self) -> int:
        return TOP + self.row * (PANEL_H + APART_Y)


def _panel(place: _Place, title: str, across: str, value: Value, records: list[Record]) -> Iterator[str]:
    left, top = place.left, place.top
    dots = [(r.family, size_of(r.family)[place.column], found) for r in records if (found := value(r))]
    yield f'<text x="{left}" y="{top - 18}" font-weight="bold">{escape(title)}</text>'
    if not dots:
        return
    x_low, x_high = _decades(x for _, x, _ in dots)
    y_low, y_high = _decades(y for _, _, y in dots)

    def x_at(x: float) -> float:
        return left + PANEL_W * (log10(x) - x_low) / (x_high - x_low)

    def y_at(y: float) -> float:
        return top + PANEL_H * (1 - (log10(y) - y_low) / (y_high - y_low))

    for power in range(y_low, y_high + 1):
        y = y_at(10.0**power)
        yield f'<line x1="{left}" x2="{left + PANEL_W}" y1="{y:.1f}" y2="{y:.1f}" stroke="{PALE}"/>'
        yield f'<text x="{left - 8}" y="{y + 4:.1f}" text-anchor="end">{10.0**power:,g}</text>'
    for power in range(x_low, x_high + 1):
        x = x_at(10.0**power)
        yield f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top}" y2="{top + PANEL_H}" stroke="{PALE}"/>'
        yield f'<text x="{x:.1f}" y="{top + PANEL_H + 18}" text-anchor="middle">{10.0**power:,.0f}</text>'
    yield f'<text x="{left + PANEL_W / 2}" y="{top + PANEL_H + 36}" text-anchor="middle">{across}</text>'
    for _, x, y in dots:
        yield f'<circle cx="{x_at(x):.1f}" cy="{y_at(y):.1f}" r="3.5" fill="{DOT}" fill-opacity="0.55"/>'
    for turn, family in enumerate(dict.fromkeys(family for family, _, _ in dots)):
        mine = [y for name, _, y in dots if name == family]
        x, y = x_at(size_of(family)[place.column]), y_at(median(mine))
        # By turns to the right and to the left, so that no name falls on the dots of the next family.
        x, anchor = (x - NOTABLE, "end") if turn % 2 else (x + NOTABLE, "start")
        yield f'<text x="{x:.1f}" y="{y + 4:.1f}" text-anchor="{anchor}">{escape(family)} {_short(median(mine))}</text>'


def _short(value: float) -> str:
    return f"{value:,.0f}" if value >= 10 else f"{value:.1f}"


def _decades(values: Iterable[float]) -> tuple[int, int]:
    """Powers of ten around some values."""
    found = [log10(value) for value in values]
    low, high = floor(min(found)), ceil(max(found))
    return low, max(high, low + 1)
