"""The kitchen: what burns, what cooks, where meat rests, is held, wrapped and cut."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from scheduler.model.base import Cents, Frozen, Minutes, Name, Spaces, named

Degrees = Annotated[int, Field(ge=100, le=600)]
"""A fire's or a cabinet's temperature, F."""


class Firebox(Frozen):
    """Burns wood and feeds one or more smokers; while lit it holds one setpoint at a time."""

    name: Name
    setpoints_f: Annotated[tuple[Degrees, ...], Field(min_length=1)]
    warm_up_min: Minutes
    tend_every_min: Annotated[Minutes, Field(ge=5)]
    tend_min: Minutes
    """Hand-minutes of one tending round."""
    light_min: Minutes
    """Hand-minutes to lay and light the fire."""
    clean_out_min: Minutes
    """From the end of one burn until the next may be lit; the same number of hand-minutes goes into it."""
    setpoint_change_min: Minutes
    wood_lb_per_h: Annotated[int, Field(ge=0, le=500)]


class Rack(Frozen):
    """A shelf of a smoker."""

    name: Name
    spaces: Spaces
    offset_f: Annotated[int, Field(ge=-100, le=100)] = 0
    """Degrees above (hot end) or below (cool end) the setpoint."""
    fits: tuple[Name, ...] = ()
    """The cuts that this rack takes; empty means all."""


class Smoker(Frozen):
    """A chamber on one firebox."""

    name: Name
    firebox: Name
    racks: Annotated[tuple[Rack, ...], Field(min_length=1, alias="rack")]


class Oven(Frozen):
    """Finishes wrapped pieces only: no smoke, no fire tending."""

    name: Name
    spaces: Spaces
    oven_f: Degrees


class RestShelf(Frozen):
    """Ambient shelf on which pieces rest after the pull."""

    name: Name
    spaces: Spaces


class HoldCabinet(Frozen):
    """Hot-holding cabinet, from the rest to the slicing."""

    name: Name
    spaces: Spaces
    hold_f: Degrees


Place = Smoker | Firebox | Oven | RestShelf | HoldCabinet
"""Whatever has a name in the kitchen and can break. They share one set of names."""


class Site(Frozen):
    """Everything in the kitchen that a plan can run out of, people aside."""

    name: Name
    fireboxes: Annotated[tuple[Firebox, ...], Field(min_length=1, alias="firebox")]
    smokers: Annotated[tuple[Smoker, ...], Field(min_length=1, alias="smoker")]
    ovens: Annotated[tuple[Oven, ...], Field(alias="oven")] = ()
    rest_shelves: Annotated[tuple[RestShelf, ...], Field(alias="rest_shelf")] = ()
    hold_cabinets: Annotated[tuple[HoldCabinet, ...], Field(alias="hold_cabinet")] = ()
    wrap_tables: Annotated[int, Field(ge=0, le=50)]
    """People who can wrap at once."""
    cutting_boards: Annotated[int, Field(ge=0, le=50)]
    """People who can slice at once."""
    power_slicer: bool = False
    """True if meat is sliced by machine, which nobody under 18 may run (29 CFR 570.61)."""
    wood_cents_per_lb: Cents

    @property
    def places(self) -> tuple[Place, ...]:
        """All of them, kind by kind."""
        return (*self.smokers, *self.fireboxes, *self.ovens, *self.rest_shelves, *self.hold_cabinets)

    def firebox(self, name: str) -> Firebox:
        """The firebox of that name; KeyError if there is none."""
        return named(self.fireboxes, name)

    def smoker(self, name: str) -> Smoker:
        """The smoker of that name; KeyError if there is none."""
        return named(self.smokers, name)

    def rack(self, smoker: str, rack: str) -> Rack:
        """The rack of that name on that smoker; KeyError if there is none."""
        return named(self.smoker(smoker).racks, rack)
