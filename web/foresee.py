"""The forecast inside the worker: the pages' words, the printed page, and draws of demand for the odds of the day."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.model.history import History
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

DRAWS = 4000
ODDS_DRAWS = 300
MINUTES = 15


def history_of(task: dict[str, Any], scenario: Scenario) -> History:
    """What was sold before: what was uploaded, or what lies in the scenario's folder."""
    from scheduler.books import read_history

    if task.get("sales") is None:
        return read_history(Path(task["folder"]), scenario)
    return read_texts(task["sales"], task.get("days") or "", scenario)


def read_texts(sales: str, days: str, scenario: Scenario) -> History:
    """A history from the text of its two files."""
    from scheduler.books import read_history

    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "sales.csv").write_text(sales, encoding="utf-8")
        if days.strip():
            (folder / "service-days.csv").write_text(days, encoding="utf-8")
        return read_history(folder, scenario)


def answer(task: dict[str, Any]) -> dict[str, Any]:
    """Everything that the pages say of the weekend's demand."""
    from scheduler.books import scenario_hash
    from scheduler.books.plans import in_zone
    from scheduler.forecast.weekend import forecast_weekend
    from scheduler.forecast.worth import wanted_pieces
    from scheduler.model.fold import folded
    from scheduler.quantities.table import rows_of
    from scheduler.report.forecast_files import forecast_csv, forecast_html
    from scheduler.report.forecast_sheet import CAUTIONS, day_words, source_words

    scenario = Scenario.model_validate_json(task["scenario"])
    history = history_of(task, scenario)
    asked = scenario_hash(scenario)
    zone = ZoneInfo(scenario.weekend.timezone)
    plan = in_zone(Plan.model_validate_json(task["plan"]), zone) if task.get("plan") else None
    if plan is not None:
        plan, scenario = folded(plan, scenario)
    found = forecast_weekend(scenario, history, plan, draws=DRAWS)
    ordered = sorted(scenario.weekend.days, key=lambda day: day.opens)
    pairs = [(day, demand) for day, demand in zip(ordered, found.model.weekend(), strict=True) if demand.cuts]
    wanted = [one for day, demand in pairs for one in wanted_pieces(demand, scenario, day, 0)]
    return {
        "days": [asdict(day_words(found, day)) for day in found.days],
        "sure": list(source_words(found)),
        "cautions": list(CAUTIONS),
        "wanted": [asdict(row) | {"day": f"{row.day}"} for row in rows_of(wanted)],
        "html": forecast_html(found),
        "csv": forecast_csv(found),
        "odds": {f"{day.opens.date()}": _odds(demand, day.opens, day.closes) for day, demand in pairs},
        "sold_by": {
            f"{day.answer.opens.date()}": {
                "by": day.answer.by.isoformat(),
                "cuts": {cut.cut: [cut.sold_by.low, cut.sold_by.middle, cut.sold_by.high] for cut in day.answer.cuts},
            }
            for day in found.days
        },
        "bad_rows": len(history.bad),
        "history_days": len(history.days),
        "notes": list(history.notes),
        "plan": task.get("number"),
        "scenario": asked,
    }


def _odds(demand: Any, opens: datetime, closes: datetime) -> dict[str, Any]:
    """Draws of the portions asked for in each quarter of an hour, by cut: lists of so many draws of so many spans."""
    import numpy as np

    first = opens.hour * 4 + opens.minute / MINUTES
    hours = (closes - opens).total_seconds() / 3600
    edges = first + np.arange(0, hours * 4 + 1e-9, 1.0)
    if edges[-1] < first + hours * 4 - 1e-9:
        edges = np.append(edges, first + hours * 4)
    draws = demand.portions_between(edges, ODDS_DRAWS, np.random.default_rng(0))
    return {
        "opens": opens.isoformat(),
        "minutes": MINUTES,
        "cuts": {cut: np.rint(draws[:, :, i]).astype(int).tolist() for i, cut in enumerate(demand.cuts)},
    }
