"""The forecast as a page, as data for other programs, and as rows for a spreadsheet."""

from __future__ import annotations

import csv
from dataclasses import asdict
from datetime import datetime
from io import StringIO
from typing import Any

from scheduler.forecast.answers import DayAnswer
from scheduler.forecast.weekend import WeekendForecast
from scheduler.report.forecast_page import forecast_html
from scheduler.report.forecast_sheet import change_text

__all__ = ["forecast_csv", "forecast_data", "forecast_html"]

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def _plain(value: Any) -> Any:
    """Times as ISO text with their offset, figures rounded to what they can mean."""
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, dict):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(entry) for entry in value]
    return value


def forecast_data(found: WeekendForecast) -> dict[str, Any]:
    """Everything that the page says, as numbers. Portions unless a name ends in _cents or _min; times are local."""
    return {
        "weekend": found.scenario.weekend.name,
        "invented": found.scenario.weekend.invented,
        "timezone": found.scenario.weekend.timezone,
        "history_days": len(found.history.days),
        "bad_rows": len(found.history.bad),
        "draws": found.draws,
        "meat": "plan" if found.planned else "waves",
        "notes": list(found.history.notes),
        "days": [
            _plain(asdict(day.answer))
            | {
                "what_if": [
                    {
                        "change": change_text(w.change),
                        "takings_cents": w.earned_cents,
                        "meat_cents": w.cost_cents,
                        "portions": round(w.sold, 2),
                        "longest_wait_min": round(w.wait_min, 2),
                    }
                    for w in day.what_if
                ]
            }
            for day in found.days
        ],
    }


def _cell(text: str) -> str:
    """Text that a spreadsheet will not take for a formula."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


HEADS = (
    *("day", "cut", "by", "wanted_mean", "made_mean"),
    *("sold_by_10", "sold_by_50", "sold_by_90", "sold_10", "sold_50", "sold_90"),
    *("gone_by_odds", "gone_at_10", "gone_at_50", "gone_at_90", "turned_away_mean", "left_mean"),
)


def forecast_csv(found: WeekendForecast) -> str:
    """One row for each day and cut, in portions."""
    text = StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(HEADS)
    for day in found.days:
        rows.writerows(_rows(day.answer))
    return text.getvalue()


def _rows(said: DayAnswer) -> list[list[str]]:
    found = []
    for cut in said.cuts:
        bands = [f"{n:.0f}" for odds in (cut.sold_by, cut.sold) for n in (odds.low, odds.middle, odds.high)]
        gone = ["" if at is None else f"{at:%H:%M}" for at in cut.out_at]
        found.append(
            [
                f"{said.opens.date()}",
                _cell(cut.cut),
                f"{said.by:%H:%M}",
                f"{cut.wanted.mean:.1f}",
                f"{cut.made.mean:.1f}",
                *bands,
                f"{cut.out_by:.3f}",
                *gone,
                f"{cut.turned_away:.1f}",
                f"{cut.left:.1f}",
            ]
        )
    return found
