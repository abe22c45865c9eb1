"""The log of a weekend: what happened, when, and who wrote it down. One event a line, never changed afterwards.

What nobody writes down is taken to have gone as planned.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, AwareDatetime, Field, TypeAdapter, field_validator

from scheduler.model.base import Cents, Frozen, Name
from scheduler.model.clock import check_year
from scheduler.model.crew import TaskKind

Night = Literal["mild", "cold", "cold and windy"]
LoadCode = Annotated[str, Field(pattern=r"^[A-Z]{1,3}[0-9]{2,3}$")]
Count = Annotated[int, Field(ge=1, le=5000)]
Moment = Annotated[AwareDatetime, AfterValidator(check_year)]


class Event(Frozen):
    """What all events have."""

    at: Moment
    by: Annotated[str, Field(max_length=40)] = ""
    """Who wrote it down."""

    @field_validator("at")
    @classmethod
    def _whole_minute(cls, value: datetime) -> datetime:
        return value.replace(second=0, microsecond=0)  # a difference would forget which of two like hours it is


class Lit(Event):
    """A fire was lit."""

    kind: Literal["lit"] = "lit"
    place: Name


class Loaded(Event):
    """A load went on; on another rack than planned where one is named."""

    kind: Literal["loaded"] = "loaded"
    load: LoadCode
    place: Name | None = None
    rack: Name | None = None


class Wrapped(Event):
    """A load was wrapped."""

    kind: Literal["wrapped"] = "wrapped"
    load: LoadCode


class Done(Event):
    """A load came to done, earlier or later than planned, and is about to be pulled."""

    kind: Literal["done"] = "done"
    load: LoadCode


class Pulled(Event):
    """A load was pulled."""

    kind: Literal["pulled"] = "pulled"
    load: LoadCode


class Moved(Event):
    """A load was handed to another rack or oven."""

    kind: Literal["moved"] = "moved"
    load: LoadCode
    place: Name
    rack: Name | None = None


class Held(Event):
    """A load went into a holding cabinet."""

    kind: Literal["held"] = "held"
    load: LoadCode
    place: Name | None = None


class Sliced(Event):
    """Pieces of a load were sliced and served."""

    kind: Literal["sliced"] = "sliced"
    load: LoadCode
    pieces: Count


class Probe(Event):
    """A probe reading in a piece of a load."""

    kind: Literal["probe"] = "probe"
    load: LoadCode
    temp_f: Annotated[float, Field(ge=20, le=400)]
    position: Annotated[str, Field(max_length=40)] = "centre"
    """Where the probe stood; only a reading at the centre says how far the cook is."""


class Discarded(Event):
    """Pieces of a load were thrown away."""

    kind: Literal["discarded"] = "discarded"
    load: LoadCode
    pieces: Count
    why: Annotated[str, Field(max_length=120)] = "thrown away"


class Down(Event):
    """A smoker, firebox, oven, shelf or cabinet went out of use; until when, if that is known."""

    kind: Literal["down"] = "down"
    place: Name
    until: Moment | None = None


class Up(Event):
    """It can be used again."""

    kind: Literal["up"] = "up"
    place: Name


class Missing(Event):
    """A person is not there from now on; until when, if that is known."""

    kind: Literal["missing"] = "missing"
    person: Name
    until: Moment | None = None


class Arrived(Event):
    """A person came, later than their shift started or after having been missing."""

    kind: Literal["arrived"] = "arrived"
    person: Name


class Delivered(Event):
    """Fewer pieces of a cut came than were ordered."""

    kind: Literal["delivered"] = "delivered"
    cut: Name
    missing: Count


class Ordered(Event):
    """A new order for pick-up."""

    kind: Literal["ordered"] = "ordered"
    name: Name
    cut: Name
    pieces: Count
    pickup: Moment
    broken_promise_cents: Cents = 0


class WoodLeft(Event):
    """The wood that is left, lb."""

    kind: Literal["wood"] = "wood"
    lb: Annotated[float, Field(ge=0, le=100_000)]


class Weather(Event):
    """The weather has turned: from now on cooks take as long as in such a night."""

    kind: Literal["weather"] = "weather"
    night: Night


class Sold(Event):
    """Portions of a cut sold so far on this service day."""

    kind: Literal["sold"] = "sold"
    cut: Name
    portions: Annotated[int, Field(ge=0, le=100_000)]


class Worked(Event):
    """How many minutes a person's hands took for a task."""

    kind: Literal["worked"] = "worked"
    person: Name
    task: TaskKind
    minutes: Annotated[float, Field(gt=0, le=24 * 60)]
    cut: Name | None = None
    pieces: Annotated[int, Field(ge=0, le=5000)] = 0
    place: Name | None = None
    """Firebox of a fire task."""


class PieceSeen(Event):
    """What was seen of one piece of a trial, by its blind code."""

    kind: Literal["piece"] = "piece"
    code: Annotated[str, Field(pattern=r"^[0-9]{3}$")]
    raw_lb: Annotated[float, Field(gt=0, le=200)] | None = None
    cooked_lb: Annotated[float, Field(gt=0, le=200)] | None = None
    done: Moment | None = None
    """When it was done."""


AnyEvent = (
    Lit
    | Loaded
    | Wrapped
    | Done
    | Pulled
    | Moved
    | Held
    | Sliced
    | Probe
    | Discarded
    | Down
    | Up
    | Missing
    | Arrived
    | Delivered
    | Ordered
    | WoodLeft
    | Weather
    | Sold
    | Worked
    | PieceSeen
)

EVENT: TypeAdapter[AnyEvent] = TypeAdapter(Annotated[AnyEvent, Field(discriminator="kind")])
"""Reads one line of a log."""

KINDS: dict[str, type[Event]] = {cls.model_fields["kind"].default: cls for cls in get_args(AnyEvent)}
"""Every kind of event by its name."""


@dataclass(frozen=True, slots=True)
class Log:
    """Events in order of time, and what had to be put right to read them."""

    events: Sequence[AnyEvent] = ()
    notes: tuple[str, ...] = ()

    def until(self, moment: datetime) -> Log:
        """What was known at a moment."""
        last = moment.timestamp()  # times of one zone compare by the wall clock, which repeats an hour in autumn
        return Log(tuple(event for event in self.events if event.at.timestamp() <= last), self.notes)
