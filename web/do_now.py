"""The answer at three in the morning, as the reshuffle told it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from web.kitchen import Kitchen
from web.store.plans import KeptPlan, number_in_force
from web.store.uploads import answer, do_now_key


@dataclass(frozen=True, slots=True)
class DoNow:
    """The answer."""

    number: int
    in_force: bool
    breaches: int
    title: str
    over: str
    happened: tuple[str, ...]
    until: str
    people: tuple[tuple[str, tuple[str, ...]], ...]
    """Who has what to do in the next half hour."""
    thrown: tuple[str, ...]
    guests: tuple[str, ...]
    on_the_pit: tuple[str, ...]
    to_come: tuple[str, ...]
    unchanged: str
    money: tuple[str, ...]
    caution: str


def do_now(kitchen: Kitchen, kept: KeptPlan) -> DoNow:
    """What a reshuffled plan asks for first. LookupError for a plan that was not made on the way."""
    found = answer(kitchen.database, do_now_key(kept.number))
    if found is None:
        raise LookupError(f"plan {kept.number} was not made on the way, so there is nothing to do at once")
    said: dict[str, Any] = found[1]
    lists = {name: tuple(said[name]) for name in ("happened", "thrown", "guests", "on_the_pit", "to_come", "money")}
    words = {name: str(said[name]) for name in ("title", "over", "until", "unchanged", "caution")}
    return DoNow(
        number=kept.number,
        in_force=number_in_force(kitchen.database) == kept.number,
        breaches=kept.breaches,
        title=words["title"],
        over=words["over"],
        happened=lists["happened"],
        until=words["until"],
        people=tuple((person["name"], tuple(person["todo"])) for person in said["people"]),
        thrown=lists["thrown"],
        guests=lists["guests"],
        on_the_pit=lists["on_the_pit"],
        to_come=lists["to_come"],
        unchanged=words["unchanged"],
        money=lists["money"],
        caution=words["caution"],
    )
