"""Little data, or none: a wide forecast and a clear word, never a crash."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import forecast_kitchen as kitchen
import numpy as np
import pytest

from scheduler.errors import InputError
from scheduler.forecast.backtest import backtest
from scheduler.forecast.demand import DayDemand, DemandModel, fit
from scheduler.forecast.invented import harvest_truth, invent
from scheduler.forecast.weekend import forecast_weekend
from scheduler.model.history import History
from scheduler.model.scenario import Scenario
from scheduler.report.forecast_sheet import source_words

SATURDAY = 1


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return kitchen.harvest()


@pytest.fixture(scope="module")
def seasoned(scenario: Scenario) -> DemandModel:
    return fit(invent(harvest_truth(), date(2025, 8, 8), 30, 3).history, scenario)


def width(demand: DayDemand, cut: str) -> float:
    """The 80 % band of a cut as a share of its middle."""
    draws = demand.portions(3000, np.random.default_rng(0))[:, demand.cuts.index(cut)]
    low, middle, high = np.percentile(draws, (10, 50, 90))
    return float((high - low) / middle)


def test_no_history_takes_the_waves_and_is_wide(scenario: Scenario, seasoned: DemandModel) -> None:
    model = fit(History(), scenario)
    demand = model.weekend()[SATURDAY]
    planned = 17 * 18  # pieces in the day's waves, portions a piece
    assert demand.mean[demand.cuts.index("packer brisket")] == pytest.approx(planned, rel=0.01)
    assert width(demand, "packer brisket") > 2 * width(seasoned.weekend()[SATURDAY], "packer brisket")


def test_one_day_of_history_moves_the_guess_and_stays_wide(scenario: Scenario, seasoned: DemandModel) -> None:
    none, one = (fit(history, scenario).weekend()[SATURDAY] for history in (History(), kitchen.one_day()))
    at = one.cuts.index("packer brisket")
    assert 240 < one.mean[at] < none.mean[at]
    full = width(seasoned.weekend()[SATURDAY], "packer brisket")
    assert full < width(one, "packer brisket") < width(none, "packer brisket")


def test_a_cut_never_sold_keeps_its_planned_portions(scenario: Scenario) -> None:
    demand = fit(kitchen.one_day(), scenario).weekend()[SATURDAY]
    ribs = demand.cuts.index("beef plate ribs")
    assert demand.mean[ribs] == pytest.approx(30, rel=0.05)
    assert width(demand, "beef plate ribs") > 1.5


def test_a_cut_that_is_neither_sold_nor_planned_is_not_on_the_menu(scenario: Scenario) -> None:
    demand = fit(kitchen.one_day(), scenario).weekend()[SATURDAY]
    assert "fat trim pan" not in demand.cuts


@pytest.mark.parametrize("history", [History(), kitchen.one_day()], ids=["none", "one day"])
def test_every_answer_is_given(history: History, scenario: Scenario) -> None:
    found = forecast_weekend(scenario, history, draws=200)
    assert len(found.days) == 3
    for day in found.days:
        assert day.answer.sold.low <= day.answer.sold.middle <= day.answer.sold.high
        assert all(0 <= cut.out_by <= 1 for cut in day.answer.cuts)
    assert "no sales at all" in source_words(found)[0] or "1 service day" in source_words(found)[0]


def without_waves(scenario: Scenario, *dates: int) -> Scenario:
    waves = tuple(wave for wave in scenario.weekend.waves if wave.at.day not in dates)
    return scenario.model_copy(update={"weekend": scenario.weekend.model_copy(update={"waves": waves})})


def test_a_day_with_no_wave_and_no_sale_is_told(scenario: Scenario) -> None:
    found = forecast_weekend(without_waves(scenario, 12), History(), draws=100)
    assert [day.answer.opens.day for day in found.days] == [13, 14]
    assert "Nothing is said of Friday, June 12" in " ".join(source_words(found))


def test_a_weekend_of_nothing_is_an_error(scenario: Scenario) -> None:
    with pytest.raises(InputError, match="nothing is planned or was ever sold"):
        forecast_weekend(without_waves(scenario, 12, 13, 14), History(), draws=100)


def test_too_few_days_cannot_be_tried(scenario: Scenario) -> None:
    assert backtest(kitchen.one_day(), scenario).forecasts == 0


def test_days_on_which_nothing_was_sold_say_nothing(scenario: Scenario) -> None:
    history = History(kitchen.one_day().days)
    with pytest.raises(InputError, match="nothing is planned or was ever sold"):
        forecast_weekend(without_waves(scenario, 12, 13, 14), history, draws=100)
    assert backtest(history, scenario).days == 0


def test_a_day_on_which_nothing_sells_as_a_rule_is_not_tried(scenario: Scenario) -> None:
    made = invent(harvest_truth(), date(2025, 8, 8), 8, 3).history
    fridays = {day.date for day in made.days if day.date.weekday() == 4}
    first = min(fridays)
    sales = tuple(sale for sale in made.sales if sale.at.date() not in fridays - {first})
    days = tuple(replace(day, sold_out={}) if day.date in fridays - {first} else day for day in made.days)
    found = backtest(History(days, sales), without_waves(scenario, 12))
    assert found.days > found.forecasts / len(harvest_truth().cuts) > 0


def test_an_event_never_seen_is_wider(scenario: Scenario, seasoned: DemandModel) -> None:
    day = sorted(scenario.weekend.days, key=lambda d: d.opens)[SATURDAY]
    weekend = scenario.weekend.model_copy(
        update={
            "days": tuple(
                d.model_copy(update={"event": "balloon race"}) if d == day else d for d in scenario.weekend.days
            )
        }
    )
    raced = fit(seasoned_history(), scenario.model_copy(update={"weekend": weekend})).weekend()[SATURDAY]
    plain = fit(seasoned_history(), scenario).weekend()[SATURDAY]
    assert raced.sd_log[0] > plain.sd_log[0] + 0.1


def seasoned_history() -> History:
    return invent(harvest_truth(), date(2025, 8, 8), 30, 3).history
