"""The probe sheet: for each long cook, what its centre should read at each round, as a small picture and a table."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from math import ceil

from scheduler.model.clock import add_min, elapsed_min
from scheduler.model.plan import Load
from scheduler.report.desk import Desk
from scheduler.report.probe_drawing import ProbeDrawing, Scale, probe_drawing
from scheduler.report.words import (
    cut_text,
    degrees_text,
    list_text,
    pieces_text,
    plural,
    sentence,
    unique,
)
from scheduler.trade.cautions import cautions
from scheduler.trade.cooking import Conditions, Span
from scheduler.trade.cut_heat import CutHeat
from scheduler.trade.known import heat_of
from scheduler.trade.load_curve import Course, LoadCurve, load_curve
from scheduler.trade.stage import reasons

LEAST_LIKELY_MIN = 120
"""What is likely done sooner is probed from its early time on; a reading between would not help."""
MOST_ROUNDS = 7
EVERY_MIN = (15, 30, 60, 120, 180, 240, 480)
HOUR = 60


@dataclass(frozen=True, slots=True)
class ProbeRow:
    """Expected readings at one pace, one for each round."""

    name: str
    readings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ProbeBlock:
    """Loads that are alike, with what their probe should read."""

    codes: tuple[str, ...]
    what: str
    lines: tuple[str, ...]
    short: str
    """The same for paper: where it is and its two temperatures; its times are on other sheets."""
    rounds: tuple[str, ...]
    rows: tuple[ProbeRow, ...]
    drawing: ProbeDrawing


@dataclass(frozen=True, slots=True)
class ProbeSheet:
    """Context of the sheet."""

    anchor: str
    title: str
    blocks: tuple[ProbeBlock, ...]
    left_out: str
    mind: tuple[str, ...]


Alike = tuple[object, ...]


def rack_f(desk: Desk, load: Load) -> int:
    """Heat at its rack when it is loaded, F: the fire's setpoint and the rack's offset."""
    smoker = desk.scenario.site.smoker(load.smoker)
    offset = desk.scenario.site.rack(load.smoker, load.rack).offset_f
    setpoint_f = desk.setpoint_then(smoker.firebox, load.load_at)
    recipe = desk.recipe(load)
    return offset + setpoint_f if setpoint_f else (recipe.low_f + recipe.high_f) // 2


def _alike(desk: Desk, load: Load) -> Alike:
    """Loads with the same of this share a block."""
    times = (load.load_at, load.wrap_at, load.early_done_at, load.likely_done_at, load.late_done_at)
    return (load.cut, load.recipe, rack_f(desk, load), *times)


def curve_of(desk: Desk, load: Load, heat: CutHeat) -> LoadCurve | None:
    """The three paces of a load; None where the model cannot cook it."""

    def minute(moment: datetime) -> int:
        return elapsed_min(load.load_at, moment)

    cut = desk.cut(load)
    window = desk.wrap_window(load)
    how = Conditions(
        weight_lb=desk.scenario.weight_lb(cut),
        pit_f=rack_f(desk, load),
        wrap=load.wrap_kind,
        wrap_min=None if load.wrap_at is None else minute(load.wrap_at),
        done_f=cut.done_f,
    )
    done = Span(minute(load.early_done_at), minute(load.likely_done_at), minute(load.late_done_at))
    try:
        return load_curve(heat, how, done, None if window is None else (minute(window[0]), minute(window[1])))
    except ValueError:
        return None


def rounds(desk: Desk, load: Load) -> tuple[int, list[int]]:
    """Minutes between the rounds of a load, and their minutes from loading: few, at even times of the clock."""
    late = elapsed_min(load.load_at, load.late_done_at)
    for every in EVERY_MIN:
        first = _first_round(desk, load, every)
        found = list(range(first, late + every // 2 + 1, every))
        if len(found) <= MOST_ROUNDS:
            break
    return every, found


def _first_round(desk: Desk, load: Load, every: int) -> int:
    """The first even time of the clock that is not just after loading, in minutes from it."""
    even = min(every, HOUR)
    least = ceil(every / 4)
    past = desk.local(add_min(load.load_at, least)).minute % even
    return least + (even - past) % even


def _reading(course: Course, minute: int) -> str:
    return "done" if minute >= course.done_min else f"{course.at(minute):.0f}"


def _lines(desk: Desk, loads: list[Load], curve: LoadCurve) -> tuple[str, ...]:
    load = loads[0]
    found = [f"on {desk.moment(load.load_at)}: {_places(desk, loads)}, {rack_f(desk, load)} °F"]
    if load.wrap_at is not None:
        span = f"{desk.near(load.wrap_at, load.load_at)} ({desk.wrap_span(load)})"
        found.append(f"wrap {span} at about {_wrap_f(load, curve)} °F")
    span = desk.near_span(load.early_done_at, load.late_done_at, load.load_at)
    found.append(f"pull {span} at {desk.cut(load).done_f} °F, likely {desk.clock(load.likely_done_at)}")
    moved = _moved(desk, load)
    return tuple(sentence(line) for line in (*found, moved) if line)


def _short(desk: Desk, loads: list[Load], curve: LoadCurve) -> str:
    load = loads[0]
    wrap = "" if load.wrap_at is None else f"wrap {_wrap_f(load, curve)}, "
    return sentence(f"{_places(desk, loads)}: {wrap}pull {desk.cut(load).done_f} °F")


def _places(desk: Desk, loads: list[Load]) -> str:
    return list_text(unique(desk.smoker_place(load) for load in loads))


def _wrap_f(load: Load, curve: LoadCurve) -> str:
    """What the probe should read when it is wrapped, degrees; empty if it is not wrapped."""
    return "" if load.wrap_at is None else f"{curve.likely.at(elapsed_min(load.load_at, load.wrap_at)):.0f}"


def _moved(desk: Desk, load: Load) -> str:
    """Why its likely time is not the one on the menu; empty if it is."""
    cut, place = desk.cut(load), load.finish_rack
    offset = 0 if place is None else desk.scenario.site.rack(load.finish_place, place).offset_f
    why = reasons(desk.recipe(load), desk.scenario.weight_lb(cut), offset)
    return f"against the menu {list_text([reason.line() for reason in why])}" if why else ""


def _block(desk: Desk, loads: list[Load], curve: LoadCurve) -> ProbeBlock:
    load = loads[0]
    every, minutes = rounds(desk, load)
    window = desk.wrap_window(load)
    scale = Scale(first_min=minutes[0], every_min=every, rounds=len(minutes), done_f=desk.cut(load).done_f)
    return ProbeBlock(
        codes=tuple(each.code for each in loads),
        what=pieces_text(sum(each.pieces for each in loads), load.cut),
        lines=_lines(desk, loads, curve),
        short=_short(desk, loads, curve),
        rounds=tuple(desk.clock(add_min(load.load_at, minute)).replace("midnight", "12 am") for minute in minutes),
        rows=tuple(
            ProbeRow(name, tuple(_reading(course, minute) for minute in minutes))
            for name, course in (("early", curve.early), ("likely", curve.likely), ("late", curve.late))
        ),
        drawing=probe_drawing(
            curve,
            scale,
            wrap_min=None if load.wrap_at is None else elapsed_min(load.load_at, load.wrap_at),
            window_min=None if window is None else tuple(elapsed_min(load.load_at, edge) for edge in window),
        ),
    )


def _long(desk: Desk, load: Load) -> bool:
    long = elapsed_min(load.load_at, load.likely_done_at) > LEAST_LIKELY_MIN
    return long and desk.cut(load).family != "fat"


def probe_sheet(desk: Desk) -> ProbeSheet | None:
    """The sheet of all long cooks by time of loading; None if there is none that the model knows."""
    together: dict[Alike, list[Load]] = defaultdict(list)
    left_out: list[str] = []
    for load in sorted(desk.plan.loads, key=lambda x: (x.load_at, x.code)):
        together[_alike(desk, load)].append(load)
    blocks = []
    for loads in together.values():
        heat = heat_of(desk.cut(loads[0]))
        curve = curve_of(desk, loads[0], heat) if heat is not None and _long(desk, loads[0]) else None
        if curve is None:
            left_out.append(loads[0].cut)
        else:
            blocks.append(_block(desk, loads, curve))
    if not blocks:
        return None
    return ProbeSheet("probe", "What the probe should read", tuple(blocks), _left_out(left_out), _mind())


def _left_out(cuts: list[str]) -> str:
    names = [plural(cut_text(cut)) if cut_text(cut) == cut else cut_text(cut, 2) for cut in unique(cuts)]
    if not names:
        return ""
    return f"Not here: {list_text(names)}. Probe those from their early time on, in the probe rounds."


def _mind() -> tuple[str, ...]:
    return (
        "Probe the centre of the thickest part. Between early and late is as planned.",
        "Hotter than early: probe it sooner. Colder than late: say so at once, and check the fire at that rack first.",
        "In the plateau the centre may stand still for hours before the wrap; that alone is not late.",
        degrees_text(cautions("food")[0].sentence),
    )
