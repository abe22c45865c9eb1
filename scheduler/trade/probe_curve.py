"""What the probe should read at each round: centre and surface of a load, if it is quick, likely or slow.

The quick and the slow course are the likely one on a shorter and a longer clock, so the crew can see at a round
whether a load runs early or late. Probe readings during the plateau say little: there the centre stands still for
hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from scheduler.trade import food_safety as fs
from scheduler.trade.cook_trace import Trace, trace
from scheduler.trade.cooking import Conditions, Span, estimate, resolved, stretch
from scheduler.trade.cut_heat import CutHeat

Verdict = Literal["early", "on time", "late"]


@dataclass(frozen=True, slots=True)
class ProbeRow:
    """One round: minutes from loading, and degrees F. `slow_f` <= `likely_f` <= `quick_f` at the centre."""

    minute: int
    slow_f: float
    likely_f: float
    quick_f: float
    surface_f: float
    wrapped: bool


@dataclass(frozen=True, slots=True)
class ProbeCurve:
    """The rounds of one load until its late done time, when it may be wrapped, and when it is done."""

    rows: tuple[ProbeRow, ...]
    wrap: Span | None
    done: Span
    done_f: float


@dataclass(frozen=True, slots=True)
class ComeUp:
    """Minutes that centre (early, likely, late) and surface (likely) take from 50 F to 130 F."""

    centre: Span
    surface_min: int


@dataclass(frozen=True, slots=True)
class Reading:
    """What one probe reading says; `done_min` is the likely done time, from loading, if the load keeps this pace."""

    verdict: Verdict
    done_min: int

    def sentence(self, done: Span) -> str:
        """For the crew, against the expected span."""
        ahead = done.likely_min - self.done_min
        if self.verdict == "on time":
            return "on time"
        side = "ahead of" if ahead > 0 else "behind"
        return f"{self.verdict}: about {abs(ahead)} min {side} the plan"


def _clocks(cut: CutHeat, how: Conditions) -> tuple[float, float, float]:
    factors = stretch(how.fullness, how.night)
    return cut.early * factors[0], factors[1], cut.late * factors[2]


def _centre(course: Trace, minute: float, clock: float) -> float:
    return float(np.interp(minute / clock, course.minutes, course.centre_f))


def probe_curve(cut: CutHeat, how: Conditions | None = None, every_min: int = 30) -> ProbeCurve:
    """Rounds every so many minutes. ValueError as in `cooking.estimate`, or if `every_min` is below 1."""
    how = how or Conditions()
    if every_min < 1:
        raise ValueError("rounds must be at least a minute apart")
    course = trace(resolved(cut, how))
    expected = estimate(cut, how)
    quick, likely, slow = _clocks(cut, how)
    rows = []
    for minute in range(0, expected.total.late_min + every_min, every_min):
        surface = float(np.interp(minute / likely, course.minutes, course.surface_f))
        wrapped = course.wrap_min is not None and minute / likely >= course.wrap_min
        rows.append(
            ProbeRow(
                minute=minute,
                slow_f=_centre(course, minute, slow),
                likely_f=_centre(course, minute, likely),
                quick_f=_centre(course, minute, quick),
                surface_f=surface,
                wrapped=wrapped,
            )
        )
    wrap = None if course.wrap_min is None else expected.smoke
    return ProbeCurve(tuple(rows), wrap, expected.total, float(course.centre_f[-1]))


def read_probe(cut: CutHeat, how: Conditions, minute: int, probe_f: float) -> Reading:
    """What a centre reading `minute` minutes after loading says. ValueError before the first minute.

    Late means colder than the slow course, early hotter than the quick one; the done time goes on at the pace at
    which the likely course would have had this reading.
    """
    if minute < 1:
        raise ValueError("a reading needs at least a minute since loading")
    course = trace(resolved(cut, how))
    quick, _, slow = _clocks(cut, how)
    pace = minute / max(course.minute_at(probe_f), 1e-6)
    pace = float(np.clip(pace, quick / 2, slow * 2))
    verdict: Verdict = "on time"
    if probe_f < _centre(course, minute, slow) - 1:
        verdict = "late"
    elif probe_f > _centre(course, minute, quick) + 1:
        verdict = "early"
    return Reading(verdict, round(course.done_min * pace))


def come_up(cut: CutHeat, how: Conditions | None = None) -> ComeUp:
    """Minutes from 50 F to 130 F; an intact piece may be judged by its surface (FSIS-GD-2021-14 p. 24)."""
    how = how or Conditions()
    course = trace(resolved(cut, how))
    quick, likely, slow = _clocks(cut, how)
    centre = course.band_min(fs.COME_UP_LOW_F, fs.COME_UP_HIGH_F)
    at = [
        float(np.interp(f, course.surface_f[: _peak(course)], course.minutes[: _peak(course)])) for f in (50.0, 130.0)
    ]
    return ComeUp(
        Span(int(centre * quick), round(centre * likely), int(np.ceil(centre * slow))), round((at[1] - at[0]) * likely)
    )


def _peak(course: Trace) -> int:
    """End of the first stretch over which the surface only warms."""
    falls = np.flatnonzero(np.diff(course.surface_f) < 0)
    return int(falls[0]) + 1 if len(falls) else len(course.surface_f)


def come_up_breach(cut: CutHeat, how: Conditions, intact: bool = True) -> str | None:
    """Why the come-up of this load is likely too slow, or None; injected or tenderized meat is judged by its centre."""
    times = come_up(cut, how)
    return fs.come_up_breach(times.surface_min if intact else times.centre.late_min)
