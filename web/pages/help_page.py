"""Help: the words, the cautions, the sources, and how the pages are used."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from scheduler.report.words import degrees_text
from scheduler.trade.cautions import DEFER, TOPICS, all_cautions
from scheduler.trade.food_safety import DEFERS, RULES
from web.door import Anyone
from web.show import page

router = APIRouter()

WORDS: tuple[tuple[str, str], ...] = (
    ("firebox", "Where the wood burns. Feeds one smoker or several, holds one setpoint at a time."),
    ("burn", "One firebox from lighting it to letting it go out."),
    ("rack", "A shelf in a smoker, so many spaces large. Its offset says how much hotter or cooler it is."),
    ("load", "Pieces of one cut that go on one rack together. Its code (BR03) stands on its label."),
    ("range", "Early, likely and late: out of ten pieces about one is done before early, and one after late."),
    ("wrap", "Off the rack, into paper or foil, and back, or on to another smoker or the oven."),
    ("rest", "On a shelf in the room after the pull, for at least so long."),
    ("hold", "In a hot cabinet, from the rest to the slicing, for at most so long."),
    ("wave", "So many pieces of a cut that have to be ready to slice by a time."),
    ("short", "Pieces of a wave or an order that the plan does not make."),
    ("pin", "A load that stays as it is while everything else is planned anew."),
    ("reshuffle", "A new plan from where everything is now, near the old one."),
    ("in force", "The plan by which the crew works. All others are kept."),
    ("last call", "The counter says that a cut is about to be gone."),
)
USE: tuple[tuple[str, str], ...] = (
    ("Weekend", "Set quantities, hours, who cannot come and what is broken; press “Save and plan”."),
    ("Plans", "Every plan has a number and is kept. Move or pin a load, compare two, choose which one is in force."),
    ("Now", "What to do in the next half hour. Tick it, say that it runs late, or skip it with a reason."),
    ("Service", "Count what is sold and sliced; see what is left, and when a cut is likely to be gone."),
    ("Forecast", "What will be sold by noon and by closing, as odds, and how many pieces are worth cooking."),
    ("Paper", "Sheets, labels and the buying list to print, calendars to subscribe to, tables, a copy of all data."),
    ("After", "Planned against real. Take a range that was wrong into the next weekend, with a reason."),
    (
        "Without a connection",
        "What you tick is kept on the phone and sent later, in order and once. Leave the page open.",
    ),
    ("Something changed", "Three questions at most; the answer says what to do now. You decide whether it is taken."),
)


@dataclass(frozen=True, slots=True)
class Topic:
    """Cautions of one topic."""

    name: str
    defers: str
    lines: tuple[tuple[str, str], ...]
    """Sentence and source."""


@dataclass(frozen=True, slots=True)
class HelpPage:
    """Context of the page."""

    use: tuple[tuple[str, str], ...]
    words: tuple[tuple[str, str], ...]
    topics: tuple[Topic, ...]
    rules: tuple[tuple[str, str, str], ...]
    """Code, sentence and source of each food-safety rule."""
    defers: str


@router.get("/help")
def help_page(request: Request, who: Anyone) -> HTMLResponse:
    """The page."""
    topics = tuple(
        Topic(
            topic,
            DEFER[topic],
            tuple((degrees_text(c.sentence), degrees_text(c.source)) for c in all_cautions() if c.topic == topic),
        )
        for topic in TOPICS
    )
    rules = tuple((code, degrees_text(rule.sentence), rule.source) for code, rule in RULES.items())
    return page(request, who, "Help", "help.html", HelpPage(USE, WORDS, topics, rules, DEFERS))
