"""One plan with its scenario on the table: everything that the sheets look up, in the kitchen's own time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from scheduler.books.plans import in_utc
from scheduler.learn.layout import KEYED
from scheduler.learn.lots import PairLot, lots_by_load, trial_of
from scheduler.model.clock import add_min, elapsed_min
from scheduler.model.menu import Cut, Recipe
from scheduler.model.plan import Fire, Load, Plan, Shift, Task
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import minutes_text
from scheduler.report import words
from scheduler.trade.minors import ADULT_AGE, youngest_age
from scheduler.trade.stage import wrap_window_min


@dataclass(frozen=True)
class Desk:
    """A plan and its scenario, with the look-ups and phrases that all sheets share. KeyError on unknown names.

    The plan's times are held in UTC; the phrases put them on the kitchen's clock.
    """

    plan: Plan
    scenario: Scenario

    def __post_init__(self) -> None:
        object.__setattr__(self, "plan", in_utc(self.plan))

    @cached_property
    def zone(self) -> ZoneInfo:
        """The kitchen's time zone."""
        return ZoneInfo(self.plan.timezone)

    @cached_property
    def starts_at(self) -> datetime:
        """When planning starts: the zero of the plan's grid."""
        return self.scenario.weekend.timeline.origin

    @cached_property
    def by_code(self) -> dict[str, Load]:
        """Loads by their code."""
        return {load.code: load for load in self.plan.loads}

    @cached_property
    def first_at(self) -> datetime:
        """The first thing that happens: a shift, a fire or a load."""
        moments = [s.starts_at for s in self.plan.shifts] + [f.lit_at for f in self.plan.fires]
        return self.local(min(moments + [x.load_at for x in self.plan.loads], default=self.starts_at))

    @cached_property
    def last_at(self) -> datetime:
        """The last thing that happens: a shift's end, a fire's end or the end of serving."""
        moments = [s.ends_at for s in self.plan.shifts] + [f.out_at for f in self.plan.fires]
        return self.local(max(moments + [x.served_until_at for x in self.plan.loads], default=self.starts_at))

    # Times

    def local(self, moment: datetime) -> datetime:
        """The same moment on the kitchen's clock."""
        return moment.astimezone(self.zone)

    def clock(self, moment: datetime) -> str:
        """Time of day."""
        return words.clock_text(self.local(moment), self.plan.clock)

    def moment(self, moment: datetime) -> str:
        """Day and time."""
        return words.moment_text(self.local(moment), self.plan.clock)

    def near(self, moment: datetime, to: datetime) -> str:
        """The time of day, with the day where it is not the same day as `to`."""
        same = self.local(moment).date() == self.local(to).date()
        return self.clock(moment) if same else self.moment(moment)

    def near_span(self, start: datetime, end: datetime, to: datetime) -> str:
        """From one time to another, with the days where they are not the day of `to`."""
        days = {self.local(moment).date() for moment in (start, end, to)}
        return self.span(start, end) if len(days) == 1 else self.day_span(start, end)

    def span(self, start: datetime, end: datetime) -> str:
        """From one time to another, without days."""
        return words.span_text(self.local(start), self.local(end), self.plan.clock)

    def day_span(self, start: datetime, end: datetime) -> str:
        """From one time to another, with days."""
        return words.day_span_text(self.local(start), self.local(end), self.plan.clock)

    def step(self, moment: datetime) -> int:
        """The plan's grid step that a moment falls in."""
        return elapsed_min(self.starts_at, moment) // self.plan.certificate.grid_min

    # Loads

    def cut(self, load: Load) -> Cut:
        """The cut of a load."""
        return self.scenario.menu.cut(load.cut)

    def recipe(self, load: Load) -> Recipe:
        """The recipe of a load."""
        return self.cut(load).recipe(load.recipe)

    def pieces(self, load: Load) -> str:
        """What a load is: "6 packer briskets"."""
        return words.pieces_text(load.pieces, load.cut)

    def wrap_words(self, load: Load) -> str:
        """How it is wrapped: "in paper"; never told of pairs of a trial in which that is what is compared."""
        trial = trial_of(self.scenario, load.cut)
        return KEYED if trial is not None and trial.wraps_differ else words.WRAP_WORDS[load.wrap_kind]

    @cached_property
    def lots(self) -> dict[str, tuple[PairLot, ...]]:
        """Blind codes of the loads that are pairs of a trial."""
        return lots_by_load(self.plan, self.scenario)

    def blind_words(self, load: Load) -> str:
        """Codes of a load's pairs, left then right as seen from the front; empty where it is no trial."""
        return "; ".join(
            f"{left} left, {right} right" for left, right in (lot.codes for lot in self.lots.get(load.code, ()))
        )

    def wave(self, load: Load) -> str:
        """Whom a load is for: "Sat 11 am" or "order Oak table"."""
        return words.wave_text(load.wave, self.plan.clock)

    def smoker_place(self, load: Load) -> str:
        """Where it smokes: "north smoker, rack 2"."""
        return f"{self.smoker_words(load.smoker)}, {words.rack_text(load.rack)}"

    def finish_place(self, load: Load) -> str:
        """Where it finishes: a rack or an oven."""
        return self.spot_words(load.finish_place, load.finish_rack)

    def spot_words(self, place: str, rack: str | None) -> str:
        """A rack or an oven."""
        if rack is None:
            return words.kind_of_place(place, "oven")
        return f"{self.smoker_words(place)}, {words.rack_text(rack)}"

    def place_at(self, load: Load, moment: datetime) -> str:
        """The cooking place at a moment between loading and the late end."""
        turns = load.turns()
        _, place, rack = next((turn for turn in reversed(turns) if turn[0] <= moment), turns[0])
        return self.spot_words(place, rack)

    def last_place(self, load: Load) -> str:
        """Where it is when it may be pulled."""
        return self.place_at(load, load.turns()[-1][0])

    def wrap_window(self, load: Load) -> tuple[datetime, datetime] | None:
        """First and last moment at which it may be wrapped; None if it is not wrapped."""
        if load.wrap_at is None:
            return None
        weight = self.scenario.weight_lb(self.cut(load))
        offset = self.scenario.site.rack(load.smoker, load.rack).offset_f
        first, last = wrap_window_min(self.recipe(load), weight, offset)
        return add_min(load.load_at, first), add_min(load.load_at, last)

    def wrap_span(self, load: Load) -> str:
        """The wrap window as text, empty if it is not wrapped."""
        window = self.wrap_window(load)
        return "" if window is None else self.span(*window)

    def rested_at(self, load: Load) -> datetime:
        """When the last piece has rested long enough."""
        return add_min(load.late_done_at, self.cut(load).rest_min)

    def rest_words(self, load: Load, on: str = " on ") -> str:
        """How long it rests at least, and where: "1 h on rest shelf A"; empty where it does not."""
        rest_min = self.cut(load).rest_min
        if not rest_min:
            return ""
        where = f"{on}{words.kind_of_place(load.rest_place, 'shelf')}" if load.rest_place else ""
        return f"{minutes_text(rest_min)}{where}"

    def hold_words(self, load: Load) -> str:
        """Where it is held after the rest: "tall cabinet"; empty where it is not."""
        return "" if load.hold_place is None else words.kind_of_place(load.hold_place, "cabinet")

    def hot_hold_words(self, load: Load, at: str = " at ") -> str:
        """The same, and how hot: "tall cabinet at 150 °F"."""
        cabinet = next((c for c in self.scenario.site.hold_cabinets if c.name == load.hold_place), None)
        return self.hold_words(load) + (f"{at}{cabinet.hold_f} °F" if cabinet else "")

    def after_words(self, load: Load) -> str:
        """What follows the pull: "rest at least 1 h on rest shelf A, then tall cabinet at 150 °F"; may be empty."""
        rest = self.rest_words(load)
        return ", then ".join(part for part in (rest and f"rest at least {rest}", self.hot_hold_words(load)) if part)

    def then_words(self, load: Load) -> str:
        """The same in few words, for a table: "1 h rest shelf A; tall cabinet 150 °F"."""
        return "; ".join(part for part in (self.rest_words(load, " "), self.hot_hold_words(load, " ")) if part)

    def discard_at(self, load: Load) -> datetime:
        """When the first piece reaches the cut's hold limit."""
        return add_min(load.hold_from_at, self.cut(load).hold_max_min)

    # Places

    def smoker_words(self, name: str) -> str:
        """A smoker in a sentence: "north smoker"."""
        return words.kind_of_place(name, "smoker")

    def fire_words(self, firebox: str) -> str:
        """A firebox in a sentence: "north firebox"; "twin box" stays."""
        return firebox if any(word in firebox.lower() for word in ("box", "fire")) else f"{firebox} firebox"

    def smokers_of(self, firebox: str) -> tuple[str, ...]:
        """Names of the smokers that a firebox feeds."""
        return tuple(s.name for s in self.scenario.site.smokers if s.firebox == firebox)

    def setpoint_at(self, fire: Fire, moment: datetime) -> int:
        """The setpoint that a burn holds, or works towards, at a moment, F."""
        current = fire.setpoints[0].setpoint_f
        for setpoint in fire.setpoints:
            if setpoint.from_at <= moment:
                current = setpoint.setpoint_f
        return current

    def setpoint_then(self, firebox: str, moment: datetime) -> int:
        """The same of whatever burn of a firebox there is then; 0 where it is out."""
        burn = next((f for f in self.plan.fires if f.firebox == firebox and f.lit_at <= moment < f.out_at), None)
        return 0 if burn is None else self.setpoint_at(burn, moment)

    # People

    def fire_hand(self, firebox: str, moment: datetime) -> str:
        """Who has a fire in hand at a moment: whoever did the last round of it and is still on shift."""
        done = [t for t in self.plan.tasks if t.place == firebox and t.at <= moment and self._on(t, moment)]
        if done:
            return max(done, key=lambda t: t.at).person
        after = [t for t in self.plan.tasks if t.place == firebox and t.at > moment and self._on(t, moment)]
        return min(after, key=lambda t: t.at).person if after else ""

    def _on(self, task: Task, moment: datetime) -> bool:
        shift = self.plan.shift(task.shift)
        return shift.starts_at <= moment < shift.ends_at

    def minor(self, shift: Shift) -> bool:
        """True if the person may be under 18 on the day of the shift."""
        born = self.scenario.crew.person(shift.person).birth_years
        if born is None:
            return False
        return youngest_age(born, self.local(shift.starts_at).date()) < ADULT_AGE

    def clock_change(self) -> tuple[datetime, timedelta] | None:
        """The first clock change while the plan runs (the moment after it, by how much), or None."""
        moment, before = self.first_at, self.first_at.utcoffset()
        while moment < self.last_at and before is not None:
            moment = add_min(moment, 15)
            after = moment.utcoffset()
            if after is not None and after != before:
                return moment, after - before
        return None
