"""What was learned as one self-contained page, in the look of the crew plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files

from markupsafe import Markup

from scheduler.learn.calibration import Kept, Ratio, warnings
from scheduler.learn.effects import factor_of
from scheduler.learn.ranges import Lessons
from scheduler.model.cooks import Cook
from scheduler.model.scenario import Scenario
from scheduler.report.learned_drawing import KeptDrawing, RangeDrawing, at_reference, kept_drawing, range_drawing
from scheduler.report.learned_words import (
    KeptRow,
    RangeRow,
    effect_lines,
    kept_rows,
    odd_lines,
    range_row,
    ratio_lines,
)
from scheduler.report.page import policy, render, style_sheet
from scheduler.report.words import count_text
from scheduler.trade.stage import stretch

CAUTION = (
    "A range says when to look, never when meat is safe: probe every piece, and pull it by its temperature. "
    "Local codes and your health authority come first."
)


@dataclass(frozen=True, slots=True)
class LearnedPage:
    """Context of the page."""

    title: str
    kitchen: str
    under: str
    invented: bool
    policy: str
    css: Markup
    rows: tuple[RangeRow, ...]
    drawings: tuple[RangeDrawing, ...]
    effects: tuple[str, ...]
    odd: tuple[str, ...]
    kept: tuple[KeptRow, ...]
    promises: tuple[KeptDrawing, ...]
    warnings: tuple[str, ...]
    usage: tuple[str, ...]
    caution: str


def learned_html(
    scenario: Scenario, cooks: Sequence[Cook], lessons: Lessons, kept: Sequence[Kept], usage: Sequence[Ratio]
) -> str:
    """The whole page."""
    css = Markup(style_sheet() + own_style())
    factors = {cook.said: _factor(scenario, cook) * factor_of(cook, lessons.effects) for cook in cooks}
    rows = tuple(range_row(one) for one in lessons.ranges)
    context = LearnedPage(
        title="What the cooks say",
        kitchen=scenario.site.name,
        under=f"{count_text(len(cooks), 'cook')} of {count_text(len(lessons.ranges), 'recipe')}",
        invented=scenario.weekend.invented,
        policy=policy(css),
        css=css,
        rows=rows,
        drawings=tuple(
            range_drawing(one, at_reference(cooks, one, factors), count_text(one.cooks, "cook"))
            for one in lessons.ranges
        ),
        effects=effect_lines(lessons),
        odd=odd_lines(lessons),
        kept=kept_rows(tuple(kept)),
        promises=tuple(kept_drawing(one, count_text(one.cooks, "cook")) for one in kept if one.kind in ("all", "cut")),
        warnings=warnings(kept),
        usage=ratio_lines(tuple(usage)),
        caution=CAUTION,
    )
    return str(render("learned.html", context))


def own_style() -> Markup:
    """The style of the pages after the weekend. It is ours, so it is not escaped."""
    return Markup(files("scheduler.report").joinpath("templates", "after.css").read_text(encoding="utf-8"))


def _factor(scenario: Scenario, cook: Cook) -> float:
    return stretch(scenario.menu.cut(cook.cut).recipe(cook.recipe), cook.weight_lb, cook.offset_f)
