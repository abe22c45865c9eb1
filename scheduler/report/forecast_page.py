"""The forecast as one self-contained page, in the look of the crew plan: no script, nothing fetched."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

from markupsafe import Markup

from scheduler.forecast.answers import Odds
from scheduler.forecast.weekend import DayForecast, WeekendForecast
from scheduler.report.forecast_charts import Fan, SellOutClock, fans, line_fan, sell_out_clock
from scheduler.report.forecast_sheet import CAUTIONS, DayWords, day_words, odds_text, source_words
from scheduler.report.page import Link, policy, render, style_sheet
from scheduler.report.words import day_text


@dataclass(frozen=True, slots=True)
class DaySheet:
    """One day of the page."""

    anchor: str
    words: DayWords
    figures: tuple[tuple[str, str], ...]
    fans: tuple[Fan, ...]
    clock: SellOutClock
    line: Fan


@dataclass(frozen=True, slots=True)
class ForecastPage:
    """Context of the page."""

    title: str
    kitchen: str
    when: str
    invented: bool
    foot: str
    policy: str
    css: Markup
    links: tuple[Link, ...]
    days: tuple[DaySheet, ...]
    sure: tuple[str, ...]
    cautions: tuple[str, ...]


def forecast_html(found: WeekendForecast) -> str:
    """The whole page."""
    weekend = found.scenario.weekend
    days = tuple(_day(found, day) for day in found.days)
    own = files("scheduler.report").joinpath("templates", "forecast.css").read_text(encoding="utf-8")
    css = Markup(style_sheet() + Markup(own))
    first, last = found.days[0].answer.opens, found.days[-1].answer.opens
    when = (
        f"{day_text(first)}, {first.year}" if first == last else f"{day_text(first)} to {day_text(last)}, {last.year}"
    )
    links = [Link(day.anchor, day.words.title) for day in days] + [Link("sure", "How sure")]
    context = ForecastPage(
        title=weekend.name,
        kitchen=found.scenario.site.name,
        when=when,
        invented=weekend.invented,
        foot=f"Forecast of {weekend.name}, {found.scenario.site.name}",
        policy=policy(css),
        css=css,
        links=tuple(links),
        days=days,
        sure=source_words(found),
        cautions=CAUTIONS,
    )
    return str(render("forecast.html", context))


def _day(found: WeekendForecast, day: DayForecast) -> DaySheet:
    words, said = day_words(found, day), day.answer
    clock = found.scenario.weekend.clock
    return DaySheet(
        anchor=f"day-{said.opens:%Y-%m-%d}",
        words=words,
        figures=(
            (f"{round(said.sold_by.middle):,}", f"portions sold by {words.by}, {_band(said.sold_by)}"),
            (f"{round(said.sold.middle):,}", f"portions sold by closing, {_band(said.sold)}"),
            (_money(said.cents.middle), "takings of a middling day"),
            (odds_text(said.any_out_by), f"days something is gone by {words.by}"),
            (f"{round(sum(cut.turned_away for cut in said.cuts)):,}", "portions asked for in vain"),
            (f"{round(sum(cut.left for cut in said.cuts)):,}", "portions left over"),
        ),
        fans=fans(day, clock),
        clock=sell_out_clock(day, clock),
        line=line_fan(day, clock),
    )


def _band(odds: Odds) -> str:
    return f"{round(odds.low):,} to {round(odds.high):,}"


def _money(cents: float) -> str:
    return f"${round(cents / 100):,}"
