"""A finished plan: what the crew does, with its price and its certificate.

All times are aware. What each field means is fixed here; `scheduler.audit` checks it and `scheduler.solve` obeys it.

A load is on `smoker`/`rack` from `load_at` until its wrap; then, if wrapped, on `finish_place`/`finish_rack` (a rack of
a smoker, or an oven, whose `finish_rack` is empty). Where unwrapped, the finish place is the same rack. The stage that
ends at done is uncertain, so a plan reserves room for every outcome, the ends being exact minutes:

- finish place: until `late_done_at`
- rest shelf: from `early_done_at` to `late_done_at` + the cut's `rest_min`
- holding cabinet: from `hold_from_at` = `early_done_at` + `rest_min`, to `served_until_at`
- ready: `late_done_at` + `rest_min` <= `ready_by_at`
- hold limit: `served_until_at` - `hold_from_at` <= the cut's `hold_max_min`

Hands. Loading and wrapping are done inside the grid step that starts at `load_at` or `wrap_at`. Pulling may fall
anywhere from early to late: its minutes are spread evenly over the grid steps touched by that span and done in rounds.
Slicing is spread evenly over the grid steps from `ready_by_at` to `served_until_at`. Tending is counted at its average
rate.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Final, Literal

from pydantic import AwareDatetime, Field, model_validator

from scheduler.model.base import Frozen, Name
from scheduler.model.crew import TaskKind
from scheduler.model.menu import WrapKind

FORMAT: Final = 1
"""Number of this layout of plan.json; raised when a reader of the old one would be misled."""

Count = Annotated[int, Field(ge=1)]
Money = int
"""Cents."""

StoppedBy = Literal["proven", "time", "work", "person", "rule of thumb"]
Limit = Literal["rack", "rest", "hold", "hands", "fire", "time", "temperature"]


class Stop(Frozen):
    """A load is handed to another rack or oven, outside of its wrap, because the plan had to be changed on the way."""

    at: AwareDatetime
    place: Name
    rack: Name | None
    """None for an oven."""


class Load(Frozen):
    """Pieces of one cut put on one rack at one time."""

    code: Annotated[str, Field(pattern=r"^[A-Z]{1,3}[0-9]{2,3}$")]
    cut: Name
    recipe: Name
    wave: str
    pieces: Count
    smoker: Name
    rack: Name
    load_at: AwareDatetime
    wrap_at: AwareDatetime | None
    wrap_kind: WrapKind
    finish_place: Name
    finish_rack: Name | None
    early_done_at: AwareDatetime
    likely_done_at: AwareDatetime
    late_done_at: AwareDatetime
    rest_place: Name | None
    """None where the cut takes no rest space."""
    hold_place: Name | None
    """None where the cut takes no hold space."""
    hold_from_at: AwareDatetime
    ready_by_at: AwareDatetime
    served_until_at: AwareDatetime
    stops: tuple[Stop, ...] = ()
    """In order of time. From each one on it is there, until the next one or its wrap."""
    part_of: str = ""
    """Code of the load that it was parted from on the way; empty where it was loaded as it is."""

    @property
    def finish_from_at(self) -> datetime:
        """When the uncertain stage starts: the wrap, or the loading when unwrapped."""
        return self.load_at if self.wrap_at is None else self.wrap_at

    def turns(self) -> tuple[tuple[datetime, str, str | None], ...]:
        """When it goes where (place, rack): at its loading, its wrap and each hand-over, in order of time."""
        found: list[tuple[datetime, str, str | None]] = [(self.load_at, self.smoker, self.rack)]
        if self.wrap_at is not None:
            found.append((self.wrap_at, self.finish_place, self.finish_rack))
        found += [(stop.at, stop.place, stop.rack) for stop in self.stops]
        return tuple(sorted(found, key=lambda turn: turn[0].timestamp()))

    @property
    def moved(self) -> bool:
        """True if the wrap hands it to another smoker or an oven."""
        return self.finish_place != self.smoker


class Setpoint(Frozen):
    """The fire holds this from `from_at` on; the change to it starts the firebox's `setpoint_change_min` earlier."""

    from_at: AwareDatetime
    setpoint_f: int


class Fire(Frozen):
    """One burn: a firebox from lighting to out. It can cook from `ready_at` = `lit_at` + warm-up."""

    firebox: Name
    lit_at: AwareDatetime
    ready_at: AwareDatetime
    out_at: AwareDatetime
    setpoints: Annotated[tuple[Setpoint, ...], Field(min_length=1)]


class Shift(Frozen):
    """A person called in for one shift pattern on one day."""

    code: Annotated[str, Field(pattern=r"^S[0-9]{1,3}$")]
    person: Name
    pattern: Name
    starts_at: AwareDatetime
    ends_at: AwareDatetime


class Task(Frozen):
    """Work of one person."""

    at: AwareDatetime
    minutes: Count
    kind: TaskKind
    person: Name
    shift: str
    """Code of the shift in which it is done."""
    loads: tuple[str, ...] = ()
    pieces: Annotated[int, Field(ge=0)] = 0
    """Pieces handled; 0 where the kind handles none (fire, counter) or the number is not known yet (pull rounds)."""
    place: str = ""
    """Firebox of a fire task; else empty."""


class Short(Frozen):
    """Pieces of a wave that the plan does not make."""

    cut: Name
    wave: str
    pieces: Count
    why: str


class Loss(Frozen):
    """Pieces taken out of a load that was begun: thrown away, or done too late for any wave."""

    load: str
    """Code of the load that they were loaded with."""
    cut: Name
    pieces: Count
    at: AwareDatetime
    kind: Literal["written off", "left"]
    why: str


class Cost(Frozen):
    """The objective by part, cents. Each part is rounded once, at its end."""

    shorts: Money
    wages: Money
    wood: Money
    hold: Money
    moves: Money

    @property
    def total(self) -> Money:
        """All parts together."""
        return self.shorts + self.wages + self.wood + self.hold + self.moves


class Certificate(Frozen):
    """How good the plan is known to be, on its own time grid."""

    bound_cents: Money | None
    """No plan on this grid costs less; None if no bound was found in time."""
    gap: Annotated[float, Field(ge=0)] | None
    """(cost - bound) / cost; 0 where the cost is 0."""
    grid_min: Annotated[int, Field(ge=1, le=120)]
    seconds: Annotated[float, Field(ge=0)]
    stopped_by: StoppedBy
    seed: int


class Relief(Frozen):
    """What one more of something would give."""

    limit: Limit
    change: str
    """In plain words: "one more holding cabinet of 12 spaces"."""
    pieces: int
    """Pieces short less than now."""
    cents: Money
    """Cost saved against now."""


class Plan(Frozen):
    """Everything that is printed for the crew."""

    format: Literal[1] = FORMAT
    number: Count = 1
    scenario: Name
    scenario_hash: str
    invented: bool
    timezone: str
    clock: Literal["12h", "24h"]
    loads: tuple[Load, ...]
    fires: tuple[Fire, ...]
    shifts: tuple[Shift, ...]
    tasks: tuple[Task, ...]
    shorts: tuple[Short, ...]
    losses: tuple[Loss, ...] = ()
    reliefs: tuple[Relief, ...] = ()
    cost: Cost
    certificate: Certificate

    @model_validator(mode="after")
    def _codes_unique(self) -> Plan:
        for what, codes in (("load", [x.code for x in self.loads]), ("shift", [x.code for x in self.shifts])):
            if len(set(codes)) != len(codes):
                raise ValueError(f"two {what}s have the same code")
        return self

    def load(self, code: str) -> Load:
        """The load of that code; KeyError if there is none."""
        for load in self.loads:
            if load.code == code:
                return load
        raise KeyError(code)

    def shift(self, code: str) -> Shift:
        """The shift of that code; KeyError if there is none."""
        for shift in self.shifts:
            if shift.code == code:
                return shift
        raise KeyError(code)
