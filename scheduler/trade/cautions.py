"""The usual cautions of a wood-fired kitchen, as short plain sentences by topic.

Plans, pages and reports show them next to the work that they are about. None of them replaces the local
code, the health and fire authorities, or people who are licensed for the work. `source` says where a
sentence comes from; "common practice, no source" is said where nothing published stands behind the wording.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Topic = Literal["food", "fire", "carbon monoxide", "blades", "minors", "hot fat"]
TOPICS: tuple[Topic, ...] = get_args(Topic)

PRACTICE = "common practice, no source"

DEFER: dict[Topic, str] = {
    "food": "The local health authority decides; it may run another edition of the food code.",
    "fire": "The fire code and the fire marshal decide; have pits, flues and hoods built and inspected by "
    "licensed people.",
    "carbon monoxide": "The fire and mechanical codes decide; have ventilation designed and tested by licensed people.",
    "blades": "Follow the maker's instructions and the workplace-safety authority.",
    "minors": "State and local law may be stricter than these federal rules; ask the labor department.",
    "hot fat": "The fire code decides; ask the fire marshal before rendering indoors.",
}
"""Whom each topic defers to."""

SHORT: dict[Topic, str] = {
    "food": "Probe every piece at its thickest part; keep hot food at 135 F or above.",
    "fire": "Never leave a lit firebox without somebody who can tend it; no accelerants.",
    "carbon monoxide": "Never burn in a closed room or without draft: carbon monoxide has no smell. Headache or "
    "dizziness: out into the air, call for help.",
    "blades": "Cut away from the hand, cut-resistant glove on the other.",
    "minors": "Under 18: no power slicers, grinders or saws. Under 16: no pit, no fire.",
    "hot fat": "Hot fat: pans no more than half full, keep water out, never alone.",
}
"""Each topic in a breath, for the sheets beside the work; the sentences below say it in full."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One sentence to show beside the work."""

    topic: Topic
    sentence: str
    source: str

    def text(self) -> str:
        """The sentence and whom it defers to."""
        return f"{self.sentence} {DEFER[self.topic]}"


_ALL: tuple[Caution, ...] = (
    Caution(
        "food",
        "A plan is not a thermometer: probe every piece at its thickest part with a checked thermometer "
        "and write it down.",
        PRACTICE,
    ),
    Caution(
        "food",
        "Keep hot food at 135 F or above; what has been colder for an unknown time is thrown away.",
        "FDA Food Code 3-501.16(A)(1); the second half is common practice",
    ),
    Caution(
        "food",
        "Food out of temperature control is marked with its time, served within 4 hours or discarded, and "
        "that needs a written procedure in advance.",
        "FDA Food Code 3-501.19(B)",
    ),
    Caution(
        "food",
        "Cool cooked meat from 135 F to 70 F within 2 hours and to 41 F within 6 hours in all; big pieces "
        "are cut first.",
        "FDA Food Code 3-501.14(A); cutting first is common practice",
    ),
    Caution(
        "food",
        "Raw meat, and the boards, gloves and knives that touched it, stay away from cooked meat.",
        PRACTICE,
    ),
    Caution(
        "fire",
        "A lit firebox is never left without somebody who can tend it; keep the ground around it clear of "
        "wood and paper.",
        PRACTICE,
    ),
    Caution(
        "fire",
        "Never use gasoline, lighter fluid or other accelerants on a pit; open the door slowly and stand to its side.",
        PRACTICE,
    ),
    Caution(
        "fire",
        "Ashes stay hot for days: put them in a lidded metal can, outside, away from walls.",
        PRACTICE,
    ),
    Caution(
        "fire",
        "Keep an extinguisher for grease fires within reach, and never put water on burning fat.",
        PRACTICE,
    ),
    Caution(
        "carbon monoxide",
        "A wood fire makes carbon monoxide, which has no smell: never burn wood or charcoal in a closed "
        "room, nor run a pit without its draft.",
        PRACTICE,
    ),
    Caution(
        "carbon monoxide",
        "Put carbon monoxide alarms where people work or sleep near a pit; headache or dizziness means out "
        "into the air and call for help.",
        PRACTICE,
    ),
    Caution(
        "blades",
        "Cut away from the hand on a steady board, wear a cut-resistant glove on the holding hand, and "
        "keep knives sharp.",
        PRACTICE,
    ),
    Caution(
        "blades",
        "Unplug a power slicer before anybody cleans it; nobody under 18 may run, clean or hand-wash it.",
        "29 CFR 570.61; unplugging is common practice",
    ),
    Caution(
        "minors",
        "Nobody under 18 works with power slicers, grinders or saws.",
        "29 CFR 570.61",
    ),
    Caution(
        "minors",
        "Nobody under 16 works at the pit or the fire, and their hours are limited.",
        "29 CFR 570.33, 570.34, 570.35",
    ),
    Caution(
        "hot fat",
        "Hot tallow burns badly and catches fire: fill pans no more than half, keep water out, never leave them alone.",
        PRACTICE,
    ),
    Caution(
        "hot fat",
        "Carry and strain hot fat with dry heat-proof gloves, closed shoes and a clear way, never alone.",
        PRACTICE,
    ),
    Caution(
        "hot fat",
        "Tallow for food is kept at 170 F or above for at least 30 minutes.",
        "9 CFR 315.1, via FSIS Cooking Guideline (Appendix A), December 2021, pp. 11-12",
    ),
)


def cautions(topic: Topic) -> tuple[Caution, ...]:
    """All cautions of a topic, in the order to show them. KeyError if there is no such topic."""
    if topic not in TOPICS:
        raise KeyError(topic)
    return tuple(caution for caution in _ALL if caution.topic == topic)


def all_cautions() -> tuple[Caution, ...]:
    """Every caution, grouped by topic."""
    return tuple(caution for topic in TOPICS for caution in cautions(topic))


_BY_TASK: dict[str, tuple[Topic, ...]] = {
    "light": ("fire", "carbon monoxide"),
    "tend": ("fire", "carbon monoxide"),
    "clean": ("fire", "carbon monoxide"),
    "load": ("fire", "food"),
    "move": ("fire", "food"),
    "wrap": ("hot fat", "food"),
    "pull": ("food",),
    "slice": ("blades", "food"),
    "counter": ("food",),
}


def topics_for_task(kind: str) -> tuple[Topic, ...]:
    """The topics whose cautions belong beside a kind of task (see `minors.KINDS`). KeyError if unknown."""
    return _BY_TASK[kind]
