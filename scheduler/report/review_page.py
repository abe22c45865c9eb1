"""The weekend review as one self-contained page, in the look of the crew plan."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from scheduler.learn.hindsight import Hindsight
from scheduler.learn.review import Review
from scheduler.report.desk import Desk
from scheduler.report.learned_page import own_style
from scheduler.report.page import policy, render, style_sheet
from scheduler.report.review_words import (
    LoadRow,
    MinutesRow,
    ShiftRow,
    SoldRow,
    WaveRow,
    change_lines,
    dollars,
    load_row,
    minutes_rows,
    price_line,
    shift_row,
    sold_row,
    wave_row,
)
from scheduler.report.words import day_text

CAUTION = (
    "A review is about money and hours. Whether meat was safe is said by the temperatures that were written down, not "
    "by this page; local codes come first."
)


@dataclass(frozen=True, slots=True)
class ReviewPage:
    """Context of the page."""

    title: str
    kitchen: str
    when: str
    invented: bool
    policy: str
    css: Markup
    figures: tuple[tuple[str, str], ...]
    changes: tuple[str, ...]
    price: str
    yardstick: str
    sold: tuple[SoldRow, ...]
    waves: tuple[WaveRow, ...]
    loads: tuple[LoadRow, ...]
    unwritten: int
    shifts: tuple[ShiftRow, ...]
    minutes: tuple[MinutesRow, ...]
    wood: str
    notes: tuple[str, ...]
    caution: str


YARDSTICK = (
    "Each was found by planning the weekend again with that one thing known, and counting what the new plan would have "
    "earned with the demand that came, after meat, wages, wood, hold and moves. Where something ran out, demand is "
    "guessed from how fast it sold until then."
)


def review_html(review: Review, found: Hindsight | None) -> str:
    """The whole page."""
    desk = Desk(review.plan, review.scenario)
    css = Markup(style_sheet() + own_style())
    known = [row for row in review.loads if row.loaded_at or row.wrapped_at or row.done_at or row.thrown]
    weekend = review.scenario.weekend
    first = min(day.opens for day in weekend.days)
    used = review.wood_used_lb
    context = ReviewPage(
        title=f"Review: {weekend.name}",
        kitchen=review.scenario.site.name,
        when=f"{day_text(first)}, {first.year}",
        invented=weekend.invented,
        policy=policy(css),
        css=css,
        figures=_figures(review),
        changes=tuple(change_lines(found)),
        price=price_line(found),
        yardstick=YARDSTICK if found is not None and found.tried else "",
        sold=tuple(sold_row(desk, row) for row in review.sold),
        waves=tuple(wave_row(desk, row) for row in review.waves),
        loads=tuple(load_row(desk, row) for row in known),
        unwritten=len(review.loads) - len(known),
        shifts=tuple(shift_row(desk, row) for row in review.shifts),
        minutes=minutes_rows(review),
        wood="" if used is None else f"Wood between the first and the last reading: {used:,.0f} lb.",
        notes=review.notes,
        caution=CAUTION,
    )
    return str(render("review.html", context))


def _figures(review: Review) -> tuple[tuple[str, str], ...]:
    judged = [row for row in review.loads if row.done_at is not None]
    inside = sum(not row.late_min for row in judged)
    return (
        (dollars(sum(row.sold_cents for row in review.sold)), "sold, as written down"),
        (dollars(sum(row.short_cents for row in review.sold)), "margin lost on shorts"),
        (dollars(sum(row.left_cents for row in review.sold)), "in meat left over"),
        (dollars(sum(row.thrown_cents for row in review.sold)), "in meat thrown away"),
        (dollars(review.plan.cost.wages), "wages of the shifts"),
        (f"{inside} of {len(judged)}", "loads done within their range"),
    )
