"""What the rules read: a plan laid beside its scenario, names looked up, times in elapsed minutes.

`scheduler.audit.reading` makes it. A name that the scenario does not know is None here; `names.unknown_names` says so,
and every rule that needs the thing skips that item.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from scheduler.audit.breach import Breach
from scheduler.audit.sweep import Span, merged
from scheduler.audit.words import Words
from scheduler.model.crew import Person, ShiftPattern, Skill, TaskKind
from scheduler.model.menu import Cut, Recipe
from scheduler.model.past import Past
from scheduler.model.plan import Fire, Load, Plan, Shift, Task
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox, HoldCabinet, Oven, Rack, RestShelf
from scheduler.model.weekend import Demand

WaveKey = tuple[str, str]
"""Cut and wave."""
FAR_MIN = 10**9


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a piece cooks: a rack of a smoker, or an oven (which has no rack and no firebox)."""

    place: str
    rack: Rack | None
    firebox: Firebox | None
    oven: Oven | None

    @property
    def offset_f(self) -> int:
        """Degrees above the setpoint; 0 for an oven."""
        return 0 if self.rack is None else self.rack.offset_f

    @property
    def text(self) -> str:
        """As the crew calls it."""
        return self.place if self.rack is None else f"{self.place}, rack {self.rack.name}"

    @property
    def out_names(self) -> tuple[str, ...]:
        """Names whose being out of use closes this spot."""
        return (self.place,) if self.firebox is None else (self.place, self.firebox.name)


@dataclass(frozen=True, slots=True)
class Stay:
    """A load on one spot during [start, end), at rack or oven temperatures low_f to high_f."""

    code: str
    spot: Spot
    start: int
    end: int
    low_f: int
    high_f: int


@dataclass(frozen=True, slots=True)
class LoadView:
    """A load with what its names stand for; minutes count from `plan_from`."""

    load: Load
    cut: Cut | None
    recipe: Recipe | None
    demand: Demand | None
    smoke: Spot | None
    finish: Spot | None
    rest: RestShelf | None
    hold: HoldCabinet | None
    load_min: int
    wrap_min: int | None
    early_min: int
    likely_min: int
    late_min: int
    hold_from_min: int
    ready_min: int
    served_min: int
    stops: tuple[tuple[int, Spot], ...] = ()
    """Hand-overs outside of the wrap."""
    cook_from_min: int | None = None
    """Where it cooked before is no longer asked; None where all is."""
    from_min: int | None = None
    """The same for where it rests and is held."""

    @property
    def code(self) -> str:
        """The load's code."""
        return self.load.code

    @property
    def key(self) -> WaveKey:
        """Its wave."""
        return self.load.cut, self.load.wave

    @property
    def finish_from_min(self) -> int:
        """When the uncertain stage starts."""
        return self.load_min if self.wrap_min is None else self.wrap_min

    def stays(self) -> tuple[Stay, ...]:
        """Where it cooks and when, as far as its names are known."""
        if self.recipe is None:
            return ()
        bare, wrapped = (self.recipe.low_f, self.recipe.high_f), self.recipe.finish_band_f
        turns: list[tuple[int, Spot | None]] = list(self.stops)
        turns.append((self.finish_from_min, self.finish))
        if self.wrap_min is not None:
            turns.append((self.load_min, self.smoke))
        turns.sort(key=lambda turn: turn[0])
        found = []
        ends = [start for start, _ in turns[1:]] + [self.late_min]
        for (start, spot), end in zip(turns, ends, strict=True):
            is_wrapped = self.wrap_min is not None and start >= self.wrap_min
            if spot is not None:
                low, high = wrapped if is_wrapped else bare
                found.append(Stay(self.code, spot, _since(start, self.cook_from_min), end, low, high))
        return tuple(stay for stay in found if self.cook_from_min is None or stay.start < stay.end)

    def rest_span(self, rest_min: int) -> tuple[int, int]:
        """When it may lie on the rest shelf; not asked of what was served before the plan was changed."""
        if self.from_min is not None and self.served_min <= self.from_min:
            return self.from_min, self.from_min
        return _since(self.early_min, self.from_min), self.late_min + rest_min

    def hold_span(self) -> tuple[int, int]:
        """When it may be in the cabinet."""
        return _since(self.hold_from_min, self.from_min), self.served_min

    def pull_span(self) -> tuple[int, int]:
        """When it may be pulled."""
        return _since(self.early_min, self.from_min), self.late_min


def _since(start: int, from_min: int | None) -> int:
    return start if from_min is None else max(start, from_min)


@dataclass(frozen=True, slots=True)
class FireView:
    """A burn with its firebox."""

    fire: Fire
    firebox: Firebox | None
    lit_min: int
    ready_min: int
    out_min: int
    setpoints: tuple[tuple[int, int], ...]
    """(from minute, F), in the order of the plan."""


@dataclass(frozen=True, slots=True)
class ShiftView:
    """A shift with its person and pattern."""

    shift: Shift
    person: Person | None
    pattern: ShiftPattern | None
    start_min: int
    end_min: int
    skills: frozenset[Skill]
    """What the person can do and the law lets them do at their youngest possible age."""


@dataclass(frozen=True, slots=True)
class TaskView:
    """A task in minutes."""

    task: Task
    start_min: int
    end_min: int

    @property
    def minutes(self) -> int:
        """How long it takes."""
        return self.task.minutes

    def within(self, start: int, end: int) -> bool:
        """True if it lies wholly inside [start, end]."""
        return start <= self.start_min and self.end_min <= end


@dataclass(frozen=True, slots=True)
class DayView:
    """A service day in minutes."""

    opens_min: int
    closes_min: int
    counter_hands: int


@dataclass(frozen=True, slots=True)
class View:
    """All that a rule needs."""

    plan: Plan
    scenario: Scenario
    words: Words
    step_min: int
    end_min: int
    """The end of the weekend: the last closing or end of serving."""
    loads: tuple[LoadView, ...]
    by_code: dict[str, LoadView]
    waves: dict[WaveKey, list[LoadView]]
    demands: dict[WaveKey, Demand]
    fires: tuple[FireView, ...]
    """In order of lighting."""
    shifts: tuple[ShiftView, ...]
    """In order of start."""
    shift_of: dict[str, ShiftView]
    tasks: tuple[TaskView, ...]
    """In order of start."""
    tasks_by_kind: dict[TaskKind, list[TaskView]]
    days: tuple[DayView, ...]
    out_of_use: dict[str, list[Span]]
    past: Past | None
    """What is fixed, where the plan was changed on the way."""
    minute: Callable[[datetime], int]

    @property
    def from_min(self) -> int:
        """From when on rules are asked: all along, but for a plan that was changed on the way."""
        return -FAR_MIN if self.past is None else self.past.from_min

    @property
    def manned_min(self) -> int:
        """From when on it is asked that somebody is there: who is missing cannot be replaced at once."""
        return -FAR_MIN if self.past is None else max(self.past.from_min, self.past.helped_min)

    def counter_most(self, minute: int) -> int:
        """The most people that can stand at the counter at a minute, whoever is called."""
        spans = () if self.past is None else self.past.counter
        return min([FAR_MIN, *(span.most for span in spans if span.from_min <= minute < span.until_min)])

    def breach(self, code: str, sentence: str, loads: Iterable[str] = (), at: int | None = None) -> Breach:
        """A breach at a minute of the weekend."""
        return Breach(code, sentence, tuple(loads), None if at is None else self.words.moment(at))

    def tasks_of(self, kind: TaskKind) -> list[TaskView]:
        """Tasks of one kind in order of start."""
        return self.tasks_by_kind.get(kind, [])

    def burns_of(self, firebox: str) -> list[FireView]:
        """Burns of one firebox in order of lighting."""
        return [fire for fire in self.fires if fire.fire.firebox == firebox]

    def cover(self, skill: Skill) -> list[Span]:
        """When at least one person with a skill is on shift."""
        return merged((s.start_min, s.end_min) for s in self.shifts if skill in s.skills)
