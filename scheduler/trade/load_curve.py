"""What the probe should read in one planned load: the curve of its cut, laid on the plan's own minutes.

A plan says when a load may be wrapped and when it may be done; the slab model says how the centre gets there. Before
the wrap the likely course is put on a clock by which it passes the cut's wrap temperature in the middle of the wrap
window, because that is what the window is for; the quick and the slow course run faster and slower in the proportion
of the plan's early and late. After the wrap each course is stretched so that it is done at the plan's minute. A load
that is not wrapped is stretched as a whole. The model cooks all the way at the rack where the load smokes.

The level of the plateau is a tuned default (see `cut_heat`), and a recipe's minutes are its kitchen's own: these are
readings to compare with at a round, not to cook by, and no proof of safety.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scheduler.trade.cook_trace import Trace, trace
from scheduler.trade.cooking import Conditions, Span, resolved
from scheduler.trade.cut_heat import CutHeat
from scheduler.trade.lethality import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Centre temperature (F) of a load at one pace, by minutes from loading, until it is done."""

    minutes: Floats
    centre_f: Floats

    @property
    def done_min(self) -> float:
        """Minute at which it is done."""
        return float(self.minutes[-1])

    def at(self, minute: float) -> float:
        """Centre at a minute; the done temperature from then on."""
        return float(np.interp(minute, self.minutes, self.centre_f))

    def minutes_between(self, low_f: float, high_f: float) -> float:
        """Minutes that the centre takes from one temperature to another."""
        low, high = np.interp([low_f, high_f], np.maximum.accumulate(self.centre_f), self.minutes)
        return float(high - low)


@dataclass(frozen=True, slots=True, eq=False)
class LoadCurve:
    """The three paces of one load. At any minute late is not hotter than likely, nor likely than early."""

    early: Course
    likely: Course
    late: Course


def load_curve(cut: CutHeat, how: Conditions, done: Span, window_min: tuple[float, float] | None = None) -> LoadCurve:
    """The paces of a load that is wrapped at `how.wrap_min` and done in `done`, all in minutes from loading.

    `window_min` is when it may be wrapped. ValueError if the model cannot cook it so, as in `cooking.estimate`.
    """
    if done.early_min <= 0:
        raise ValueError("a load takes more than no time")
    likely = _clock_before_wrap(cut, how, window_min)
    early = likely * done.early_min / done.likely_min
    late = likely * done.late_min / done.likely_min
    return LoadCurve(
        _course(cut, how, done.early_min, min(likely, max(early, _quickest_clock(cut, how)))),
        _course(cut, how, done.likely_min, likely),
        _course(cut, how, done.late_min, late),
    )


def _bare(cut: CutHeat, how: Conditions) -> Trace:
    return trace(resolved(cut, replace(how, wrap="none", wrap_min=None)))


def _clock_before_wrap(cut: CutHeat, how: Conditions, window_min: tuple[float, float] | None) -> float:
    """Minutes of the plan for one minute of the model, before the wrap of the likely course."""
    if how.wrap_min is None or window_min is None or cut.wrap_f is None:
        return 1.0
    return (window_min[0] + window_min[1]) / 2 / _bare(cut, how).minute_at(cut.wrap_f[1])


def _quickest_clock(cut: CutHeat, how: Conditions) -> float:
    """The clock by which a piece is as hot at the wrap as the cut is ever wrapped; a quicker one is not left bare."""
    if how.wrap_min is None or cut.wrap_f is None:
        return 0.0
    return how.wrap_min / _bare(cut, how).minute_at(cut.wrap_f[2])


def _course(cut: CutHeat, how: Conditions, done_min: float, clock: float) -> Course:
    wrap_min = how.wrap_min
    if wrap_min is None or wrap_min >= done_min:
        return _stretched(_bare(cut, how), None, done_min)
    return _stretched(trace(resolved(cut, replace(how, wrap_min=round(wrap_min / clock, 1)))), wrap_min, done_min)


def _stretched(course: Trace, wrap_min: float | None, done_min: float) -> Course:
    """The course with its wrap and its end put at these minutes, straight in between."""
    if course.wrap_min is None or wrap_min is None:
        marks, places = [0.0, course.done_min], [0.0, done_min]
    else:
        marks, places = [0.0, course.wrap_min, course.done_min], [0.0, wrap_min, done_min]
    return Course(np.interp(course.minutes, marks, places), course.centre_f)
