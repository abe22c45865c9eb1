"""The rack chart: for each smoker and oven its racks as rows, its loads as bars on a clock, its fire under them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from scheduler.model.plan import Load
from scheduler.report.desk import Desk
from scheduler.report.fire_strip import fire_row
from scheduler.report.panels import LEFT, WIDTH, Panel, cut_hour, panels
from scheduler.report.shapes import (
    AXIS,
    BAR,
    CHAR,
    EMPTY_ROW,
    FIRE,
    LANE,
    NOTED_ROW,
    ROW_GAP,
    Bar,
    Drawing,
    Piece,
    RackRow,
    lanes,
)
from scheduler.report.words import kind_of_place, number_text, rack_text


@dataclass(frozen=True, slots=True)
class LoadLine:
    """A load in the table under the chart."""

    code: str
    what: str
    place: str
    load_at: str
    wrap_at: str
    then: str
    early: str
    likely: str
    late: str


@dataclass(frozen=True, slots=True)
class RackSheet:
    """Context of the sheet of one smoker or oven."""

    anchor: str
    title: str
    subtitle: str
    drawings: tuple[Drawing, ...]
    lines: tuple[LoadLine, ...]


@dataclass(frozen=True, slots=True)
class Stay:
    """A load on one rack: smoking, finishing, or both there."""

    load: Load
    smokes: bool
    finishes: bool
    since: datetime | None = None
    """First moment, where it came or went outside of its wrap."""
    until: datetime | None = None
    came_from: str = ""
    goes_to: str = ""
    """Places, for the same."""

    @property
    def start(self) -> datetime:
        """First moment on the rack."""
        return self.since or self._start

    @property
    def end(self) -> datetime:
        """Last moment on the rack: the wrap if it leaves then, else the late end."""
        return self.until or self._end

    @property
    def _start(self) -> datetime:
        return self.load.load_at if self.smokes else self.load.finish_from_at

    @property
    def _end(self) -> datetime:
        return self.load.late_done_at if self.finishes else self.load.finish_from_at


def stays(desk: Desk, place: str, rack: str | None) -> tuple[Stay, ...]:
    """All stays on one rack (or oven, where `rack` is None), by start."""
    found = []
    for load in desk.plan.loads:
        if load.stops:
            found += [stay for stay, at in _stopped(load) if at == (place, rack)]
            continue
        smokes = (load.smoker, load.rack) == (place, rack)
        finishes = (load.finish_place, load.finish_rack) == (place, rack)
        if smokes or finishes:
            found.append(Stay(load, smokes, finishes))
    return tuple(sorted(found, key=lambda stay: (stay.start, stay.load.code)))


def _stopped(load: Load) -> Iterator[tuple[Stay, tuple[str, str | None]]]:
    """The stays of a load that was handed over on the way, each with its rack; turns on the same rack are one."""
    turns = load.turns()
    spots = [turn[1:] for turn in turns]
    firsts = [i for i in range(len(turns)) if i == 0 or spots[i] != spots[i - 1]]
    for n, i in enumerate(firsts):
        last = n + 1 == len(firsts)
        until = load.late_done_at if last else turns[firsts[n + 1]][0]
        came = spots[firsts[n - 1]][0] if n else ""
        goes = "" if last else spots[firsts[n + 1]][0]
        yield Stay(load, n == 0, last, turns[i][0], until, came, goes), spots[i]


def _after(desk: Desk, stay: Stay) -> str:
    load = stay.load
    if stay.goes_to:
        return f"to {stay.goes_to}"
    if stay.finishes:
        return ""
    if load.finish_place != load.smoker:
        return f"to {load.finish_place}"
    return f"to {rack_text(load.finish_rack or '')}"


def _lead(stay: Stay) -> str:
    load = stay.load
    if stay.came_from:
        return f" from {stay.came_from}"
    if stay.smokes:
        return ""
    return f" from {load.smoker if load.moved else rack_text(load.rack)}"


def _parts(stay: Stay, view: Panel) -> tuple[Piece, ...]:
    load = stay.load
    spans: list[tuple[datetime, datetime, str]] = []
    spans.append((load.load_at, load.wrap_at or load.early_done_at, "smoke"))
    if load.wrap_at is not None:
        spans.append((load.wrap_at, load.early_done_at, "finish"))
    spans.append((load.early_done_at, load.late_done_at, "maybe"))
    spans = [(max(a, stay.start), min(b, stay.end), kind) for a, b, kind in spans]
    spans = [(a, b, kind) for a, b, kind in spans if a < b]
    shown = [(view.x(a), view.x(b), kind) for a, b, kind in spans if view.shows(a, b)]
    return tuple(Piece(a, round(b - a, 1), kind) for a, b, kind in shown)


def _inside(view: Panel, moment: datetime | None) -> float | None:
    if moment is None or not view.start <= moment <= view.end:
        return None
    return view.x(moment)


@dataclass(frozen=True, slots=True)
class _Words:
    """The text of a bar and where it starts."""

    text: str
    x: float


def _words(stay: Stay, view: Panel, marks: list[float], outside_ok: bool) -> _Words:
    """Inside the bar before its first mark, where there is room; else behind it or before it; else the code alone."""
    load = stay.load
    left, right = view.x(stay.start), view.x(stay.end)
    behind_mark = bool(marks) and marks[0] <= left
    x = left + (20 if behind_mark else 12 if view.cut_left(stay.start) else 5)
    ends = [mark - 9 for mark in marks if mark > x] + [right]
    plain = f"{load.code} ×{load.pieces}"
    for text in (f"{plain}{_lead(stay)}", plain):
        if x + len(text) * CHAR <= min(ends):
            return _Words(text, x)
    width = len(plain) * CHAR
    if outside_ok and right + 6 + width <= WIDTH:
        return _Words(plain, right + 6)
    if outside_ok and left - 6 - width >= LEFT:
        return _Words(plain, left - 6 - width)
    return _Words(load.code, x)


def _bar(desk: Desk, stay: Stay, view: Panel) -> Bar:
    load = stay.load
    right = view.x(stay.end)
    here = load.wrap_at is not None and stay.start <= load.wrap_at <= stay.end
    wrap_x = _inside(view, load.wrap_at) if here else None
    likely_x = _inside(view, load.likely_done_at) if stay.finishes else None
    after = "" if view.cut_right(stay.end) else _after(desk, stay)
    words = _words(stay, view, [x for x in (wrap_x, likely_x) if x is not None], not after)
    return Bar(
        code=load.code,
        y=0.0,
        height=BAR,
        pieces=_parts(stay, view),
        text=words.text,
        text_x=words.x,
        wrap_x=wrap_x,
        likely_x=likely_x,
        after=after,
        after_x=right + 12,
        from_before=view.cut_left(stay.start),
        goes_on=view.cut_right(stay.end),
        title=f"{load.code}: {desk.pieces(load)}, on from {desk.moment(stay.start)} to {desk.moment(stay.end)}",
    )


def _extent(bar: Bar) -> tuple[float, float]:
    """From where to where a bar and its words need room."""
    left = min([bar.text_x, *(piece.x for piece in bar.pieces)])
    right = max(piece.x + piece.width for piece in bar.pieces)
    right = max(right, bar.text_x + len(bar.text) * CHAR)
    if bar.after:
        right = max(right, bar.after_x + len(bar.after) * CHAR)
    if bar.wrap_x is not None:
        left, right = min(left, bar.wrap_x - 9), max(right, bar.wrap_x + 9)
    return left, right + 2


def _row(desk: Desk, name: str, note: str, found: tuple[Stay, ...], view: Panel, y: float) -> RackRow:
    bars = [_bar(desk, stay, view) for stay in found if view.shows(stay.start, stay.end)]
    bars.sort(key=_extent)
    placed = lanes([_extent(bar) for bar in bars])
    height = max(NOTED_ROW, LANE * (max(placed) + 1) + ROW_GAP) if bars else EMPTY_ROW
    drawn = tuple(replace(bar, y=y + ROW_GAP + LANE * lane) for bar, lane in zip(bars, placed, strict=True))
    return RackRow(name, note, y, height + (ROW_GAP if bars else 0), drawn)


def _drawing(desk: Desk, racks: list[tuple[str, str, tuple[Stay, ...]]], firebox: str, view: Panel) -> Drawing:
    rows: list[RackRow] = []
    y = AXIS
    for name, note, found in racks:
        row = _row(desk, name, note, found, view, y)
        rows.append(row)
        y += row.height
    fire = fire_row(desk, firebox, view, y + 8) if firebox else None
    height = y + (FIRE if fire else 6)
    return Drawing(view.title, view, WIDTH, height, y + (30 if fire else 0), tuple(rows), fire)


def desk_rack(stay: Stay) -> str | None:
    """The rack of a stay; None in an oven."""
    load = stay.load
    if stay.since is not None:
        return next(turn[2] for turn in load.turns() if turn[0] == stay.since)
    return load.rack if stay.smokes else load.finish_rack


def _line(desk: Desk, stay: Stay) -> LoadLine:
    load = stay.load
    then = "" if load.wrap_at is None else _after(desk, stay) or ("stays here" if stay.smokes else "came wrapped")
    rack = desk_rack(stay)
    place = rack_text(rack or "")
    return LoadLine(
        code=load.code,
        what=desk.pieces(load),
        place=place if rack else "oven",
        load_at=desk.moment(load.load_at),
        wrap_at="not wrapped" if load.wrap_at is None else desk.moment(load.wrap_at),
        then=then,
        early=desk.moment(load.early_done_at),
        likely=desk.clock(load.likely_done_at),
        late=desk.clock(load.late_done_at),
    )


@dataclass(frozen=True, slots=True)
class _Place:
    """A smoker or an oven with its racks."""

    anchor: str
    title: str
    subtitle: str
    racks: list[tuple[str, str, tuple[Stay, ...]]]
    firebox: str
    """Empty for an oven."""

    @property
    def stays(self) -> list[Stay]:
        """All stays on its racks, by start."""
        found = [stay for _, _, rack in self.racks for stay in rack]
        return sorted(found, key=lambda stay: (stay.start, stay.load.code))


def _places(desk: Desk) -> list[_Place]:
    """Smokers and ovens that are used, in the order of the kitchen."""
    site = desk.scenario.site
    places = []
    for number, smoker in enumerate(site.smokers, 1):
        racks = []
        for rack in smoker.racks:
            offset = f", {rack.offset_f:+d} °F" if rack.offset_f else ""
            note = f"{number_text(rack.spaces)} spaces{offset}"
            racks.append((rack_text(rack.name), note, stays(desk, smoker.name, rack.name)))
        subtitle = f"Racks and loads, with the {desk.fire_words(smoker.firebox)} under them"
        title = desk.smoker_words(smoker.name)
        places.append(_Place(f"smoker-{number}", title, subtitle, racks, smoker.firebox))
    for number, oven in enumerate(site.ovens, 1):
        subtitle = f"Wrapped pieces only, at {oven.oven_f} °F"
        rows = [(oven.name, f"{number_text(oven.spaces)} spaces", stays(desk, oven.name, None))]
        places.append(_Place(f"oven-{number}", kind_of_place(oven.name, "oven"), subtitle, rows, ""))
    return [place for place in places if place.stays]


def _sheet(desk: Desk, place: _Place, hour: int) -> RackSheet:
    found = [(stay.start, stay.end) for stay in place.stays]
    fires = [(f.lit_at, f.out_at) for f in desk.plan.fires if f.firebox == place.firebox]
    views = panels(desk, found, hour, fires)
    drawings = tuple(_drawing(desk, place.racks, place.firebox, view) for view in views)
    lines = tuple(_line(desk, stay) for stay in place.stays)
    return RackSheet(place.anchor, place.title, place.subtitle, drawings, lines)


def rack_sheets(desk: Desk) -> tuple[RackSheet, ...]:
    """A sheet for each smoker and oven that is used, all cut into days at the same hour."""
    spans = [(load.load_at, load.late_done_at) for load in desk.plan.loads]
    spans += [(fire.lit_at, fire.out_at) for fire in desk.plan.fires]
    hour = cut_hour(desk, spans)
    return tuple(_sheet(desk, place, hour) for place in _places(desk))
