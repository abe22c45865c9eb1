"""Time and memory against size, as a picture: one dot a run, both scales by powers of ten."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from html import escape
from math import ceil, floor, log10
from statistics import median

from scheduler.bench.one import OURS
from scheduler.bench.outcome import Record
from scheduler.bench.sizes import FAMILIES

WIDTH, HEIGHT = 860, 380
PANEL_W, PANEL_H, LEFT, TOP, APART = 330, 240, 60, 60, 110
INK, PALE, DOT = "#3a2f28", "#d8cdc2", "#a4471c"

Value = Callable[[Record], float | None]


def growth_svg(records: Iterable[Record]) -> str:
    """The picture as SVG text: the first audited plan, and memory, against the pieces of a weekend."""
    ours = [r for r in records if r.method == OURS and not r.part and r.cents is not None]
    panels = (
        ("First audited plan, seconds", lambda r: r.first_s),
        ("Memory of all its processes, MB", lambda r: float(r.memory_mb)),
    )
    body = [line for i, (title, value) in enumerate(panels) for line in _panel(i, title, value, ours)]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'font-family="sans-serif" font-size="13" fill="{INK}">'
    )
    return "\n".join([head, f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>', *body, "</svg>"]) + "\n"


def size_of(family: str) -> tuple[int, int]:
    """Pieces, the sausages among them, and smokers of a family."""
    found = FAMILIES[family]
    return found.pieces + found.sausages, found.smokers


def _panel(number: int, title: str, value: Value, records: list[Record]) -> Iterator[str]:
    left = LEFT + number * (PANEL_W + APART)
    dots = [(size_of(r.family)[0], found) for r in records if (found := value(r))]
    yield f'<text x="{left}" y="{TOP - 28}" font-weight="bold">{escape(title)}</text>'
    if not dots:
        return
    x_low, x_high = _decades(x for x, _ in dots)
    y_low, y_high = _decades(y for _, y in dots)

    def x_at(x: float) -> float:
        return left + PANEL_W * (log10(x) - x_low) / (x_high - x_low)

    def y_at(y: float) -> float:
        return TOP + PANEL_H * (1 - (log10(y) - y_low) / (y_high - y_low))

    for power in range(y_low, y_high + 1):
        y = y_at(10.0**power)
        yield f'<line x1="{left}" x2="{left + PANEL_W}" y1="{y:.1f}" y2="{y:.1f}" stroke="{PALE}"/>'
        yield f'<text x="{left - 8}" y="{y + 4:.1f}" text-anchor="end">{10.0**power:,g}</text>'
    for power in range(x_low, x_high + 1):
        x = x_at(10.0**power)
        yield f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{TOP + PANEL_H}" stroke="{PALE}"/>'
        yield f'<text x="{x:.1f}" y="{TOP + PANEL_H + 18}" text-anchor="middle">{10.0**power:,.0f}</text>'
    yield f'<text x="{left + PANEL_W / 2}" y="{TOP + PANEL_H + 38}" text-anchor="middle">pieces</text>'
    for x, y in dots:
        yield f'<circle cx="{x_at(x):.1f}" cy="{y_at(y):.1f}" r="3.5" fill="{DOT}" fill-opacity="0.55"/>'
    for family in FAMILIES:
        mine = [found for r in records if r.family == family and (found := value(r))]
        if mine:
            pieces, smokers = size_of(family)
            y = min(y_at(found) for found in mine) - 10
            words = f"{family}: {smokers} smokers, {median(mine):,.3g}"
            anchor = "end" if x_at(pieces) > left + 0.6 * PANEL_W else "start"
            yield f'<text x="{x_at(pieces):.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _decades(values: Iterable[float]) -> tuple[int, int]:
    """Powers of ten around some values."""
    found = [log10(value) for value in values]
    low, high = floor(min(found)), ceil(max(found))
    return low, max(high, low + 1)
