"""How long a cut cooks: early, likely and late, and what moved it.

The likely time is the slab model of `cook_trace` (thickness drives it; weight only through thickness, which grows
with its cube root), tuned per cut in `cut_heat`. Early and late are the 10th and 90th percentile around it. Fullness
and the night are stated allowances on top (common practice, no source):

* a full smoker against one that is half full: 0 / 8 / 20 % longer (early / likely / late), in between in proportion;
* a cold night 0 / 3 / 6 %, a cold and windy one 0 / 6 / 12 %: even with the fire held, doors cost more.

Cooking times are never a proof of safety: the probe is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor
from typing import Literal, get_args

from scheduler.trade.cook_trace import Trace, TraceInput, trace
from scheduler.trade.cut_heat import CutHeat, Wrap

Night = Literal["mild", "cold", "cold and windy"]
NIGHTS: tuple[Night, ...] = get_args(Night)

USUAL_PIT_F = 250.0
USUAL_START_F = 38.0
LOWEST_PIT_F, HIGHEST_PIT_F = 180.0, 400.0
LOWEST_START_F = 29.0
"""Meat below this is frozen: thaw it first."""
HIGHEST_START_F = 100.0

Stretch = tuple[float, float, float]
"""Factors on the early, likely and late time."""

FULL_STRETCH: Stretch = (0.0, 0.08, 0.20)
NIGHT_STRETCH: dict[Night, Stretch] = {
    "mild": (0.0, 0.0, 0.0),
    "cold": (0.0, 0.03, 0.06),
    "cold and windy": (0.0, 0.06, 0.12),
}


@dataclass(frozen=True, slots=True)
class Conditions:
    """How one load is cooked. None takes the cut's usual.

    `pit_f` is at its rack. `fullness` is the share of the smoker that is taken, 0 to 1. `thickness_in` is measured
    at the thickest part; without it the weight says it. `wrap_min` wraps at a minute instead of at the usual centre
    temperature.
    """

    weight_lb: float | None = None
    pit_f: float = USUAL_PIT_F
    wrap: Wrap | None = None
    thickness_in: float | None = None
    fullness: float = 0.5
    start_f: float = USUAL_START_F
    night: Night = "mild"
    done_f: float | None = None
    wrap_min: float | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """Early, likely and late, whole minutes: about the 10th, 50th and 90th percentile."""

    early_min: int
    likely_min: int
    late_min: int


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that moved the likely time away from the cut's usual."""

    delta_min: int
    text: str

    def line(self) -> str:
        """Such as "+45 min: 13.5 lb" or "-1 h 20: foil"."""
        return f"{signed_minutes(self.delta_min)}: {self.text}"


@dataclass(frozen=True, slots=True)
class CookEstimate:
    """Times of one load. An unwrapped load has only `smoke`, which then runs to done; all count from loading, but
    `finish` counts from the wrap. `wrap_window_min` is when the centre likely passes the cut's wrap temperatures."""

    smoke: Span
    finish: Span | None
    total: Span
    wrap_window_min: tuple[int, int] | None
    usual_min: int
    """Likely time of the usual piece in the usual way; the reasons add up from there to `total.likely_min`."""
    reasons: tuple[Reason, ...]

    def lines(self) -> list[str]:
        """The reasons as lines, the biggest first."""
        return [reason.line() for reason in sorted(self.reasons, key=lambda reason: -abs(reason.delta_min))]


def signed_minutes(minutes: int) -> str:
    """Minutes with sign, hours from 60 on: "+45 min", "-1 h 20", "+2 h"."""
    sign = "-" if minutes < 0 else "+"
    hours, rest = divmod(abs(minutes), 60)
    if not hours:
        return f"{sign}{rest} min"
    return f"{sign}{hours} h {rest:02d}" if rest else f"{sign}{hours} h"


def half_thickness_m(cut: CutHeat, weight_lb: float, thickness_in: float | None = None) -> float:
    """Effective half thickness (m): by the ruler if measured, else by the cube root of the weight."""
    if thickness_in is not None:
        return cut.half_thickness_m * thickness_in / cut.thickness_in
    return float(cut.half_thickness_m * (weight_lb / cut.weight_lb) ** (1 / 3))


def stretch(fullness: float, night: Night) -> Stretch:
    """Factors on the early, likely and late time for a full smoker and the night."""
    over = max(0.0, (fullness - 0.5) / 0.5)
    cold = NIGHT_STRETCH[night]
    return (
        (1 + FULL_STRETCH[0] * over) * (1 + cold[0]),
        (1 + FULL_STRETCH[1] * over) * (1 + cold[1]),
        (1 + FULL_STRETCH[2] * over) * (1 + cold[2]),
    )


def _check(cut: CutHeat, how: Conditions) -> None:
    faults = (
        (how.weight_lb is not None and not how.weight_lb > 0, "the weight must be above 0 lb"),
        (how.thickness_in is not None and not how.thickness_in > 0, "the thickness must be above 0 in"),
        (not LOWEST_PIT_F <= how.pit_f <= HIGHEST_PIT_F, f"a pit of {how.pit_f:g} F is outside 180 to 400 F"),
        (not 0 <= how.fullness <= 1, "fullness is a share from 0 to 1"),
        (how.start_f < LOWEST_START_F, f"meat at {how.start_f:g} F is frozen: thaw it fully before smoking"),
        (how.start_f > HIGHEST_START_F, f"raw meat at {how.start_f:g} F is not a start"),
        (how.wrap_min is not None and how.wrap_min < 0, "the wrap cannot be before loading"),
        (how.wrap not in (None, "none") and cut.wrap_f is None and how.wrap_min is None, f"{cut.name} is not wrapped"),
    )
    for wrong, sentence in faults:
        if wrong:
            raise ValueError(sentence)


def resolved(cut: CutHeat, how: Conditions) -> TraceInput:
    """The conditions with every None filled in from the cut. ValueError with a sentence if they make no sense."""
    _check(cut, how)
    wrap = cut.usual_wrap if how.wrap is None else how.wrap
    by_centre = wrap != "none" and how.wrap_min is None and cut.wrap_f is not None
    return TraceInput(
        cut=cut,
        half_thickness_m=half_thickness_m(cut, how.weight_lb or cut.weight_lb, how.thickness_in),
        pit_f=how.pit_f,
        start_f=how.start_f,
        done_f=cut.done_f if how.done_f is None else how.done_f,
        wrap=wrap,
        wrap_f=cut.wrap_f[1] if by_centre and cut.wrap_f else None,
        wrap_min=how.wrap_min if wrap != "none" else None,
    )


def _span(cut: CutHeat, minutes: float, factors: Stretch) -> Span:
    likely = minutes * factors[1]
    return Span(
        early_min=floor(minutes * cut.early * factors[0]),
        likely_min=round(likely),
        late_min=ceil(minutes * cut.late * factors[2]),
    )


def cook_span(cut: CutHeat, how: Conditions | None = None) -> Span:
    """Early, likely and late from loading to done alone; quicker than `estimate`. ValueError if it cannot be."""
    how = how or Conditions()
    return _span(cut, trace(resolved(cut, how)).done_min, stretch(how.fullness, how.night))


def estimate(cut: CutHeat, how: Conditions | None = None) -> CookEstimate:
    """Early, likely and late of each stage of one load, and the reasons. ValueError with a sentence if it cannot be.

    The same stretch goes on all stages: what makes a piece slow before the wrap makes it slow after it.
    """
    how = how or Conditions()
    asked = resolved(cut, how)
    course = trace(asked)
    factors = stretch(how.fullness, how.night)
    total = _span(cut, course.done_min, factors)
    reasons, usual = _reasons(cut, how, total.likely_min)
    if course.wrap_min is None:
        return CookEstimate(total, None, total, None, usual, reasons)
    return CookEstimate(
        smoke=_span(cut, course.wrap_min, factors),
        finish=_span(cut, course.done_min - course.wrap_min, factors),
        total=total,
        wrap_window_min=_wrap_window(asked, factors[1]),
        usual_min=usual,
        reasons=reasons,
    )


def _wrap_window(asked: TraceInput, factor: float) -> tuple[int, int] | None:
    if asked.cut.wrap_f is None:
        return None
    low_f, _, high_f = asked.cut.wrap_f
    if high_f >= asked.done_f:
        return None
    bare = trace(replace(asked, wrap="none", wrap_f=None, wrap_min=None, done_f=high_f))
    return round(bare.minute_at(low_f) * factor), round(bare.done_min * factor)


def _likely(cut: CutHeat, how: Conditions) -> int:
    return cook_span(cut, how).likely_min


def _reasons(cut: CutHeat, how: Conditions, likely_min: int) -> tuple[tuple[Reason, ...], int]:
    """Steps from the usual load to this one, one condition at a time, that add up to its likely time."""
    wrap = cut.usual_wrap if how.wrap is None else how.wrap
    size = (
        f"{how.thickness_in:g} in thick" if how.thickness_in is not None else f"{how.weight_lb or cut.weight_lb:g} lb"
    )
    now = Conditions()
    usual = before = _likely(cut, now)
    found = []
    for text, change in (
        (size, {"weight_lb": how.weight_lb, "thickness_in": how.thickness_in}),
        (f"done at {how.done_f or cut.done_f:g} F", {"done_f": how.done_f}),
        ("no wrap" if wrap == "none" else wrap, {"wrap": how.wrap, "wrap_min": how.wrap_min}),
        (f"pit at {how.pit_f:g} F", {"pit_f": how.pit_f}),
        (f"loaded at {how.start_f:g} F", {"start_f": how.start_f}),
        (f"smoker {how.fullness:.0%} full", {"fullness": how.fullness}),
        (f"{how.night} night", {"night": how.night}),
    ):
        now = replace(now, **change)
        after = _likely(cut, now)
        if after != before:
            found.append(Reason(after - before, text))
        before = after
    assert before == likely_min
    return tuple(found), usual


def course_of(cut: CutHeat, how: Conditions | None = None) -> Trace:
    """The likely course of one load without the allowances for fullness and night; see `probe_curve` for the crew's."""
    return trace(resolved(cut, how or Conditions()))
