"""What is recovered of a demand that nobody saw whole."""

from __future__ import annotations

from dataclasses import replace

import forecast_kitchen as kitchen
import numpy as np
import pytest

from scheduler.forecast.backtest import simulated_seasons
from scheduler.forecast.demand import DemandModel, fit
from scheduler.forecast.invented import Invented, harvest_truth, invent
from scheduler.model.history import History

WEEKS = 60


def means(made: Invented, model: DemandModel, cut: str) -> tuple[float, float, float]:
    """True, estimated and naive mean portions a day, over the days of a history."""
    column = model.cuts.index(cut)
    x = np.array([model.features.row(r.date, r.weather, r.event) for r in model.days.records])
    naive = model.days.total[:, column].mean()
    return float(made.mean[:, 0].mean()), float(model.levels[column].mean(x).mean()), float(naive)


def untimed(history: History) -> History:
    """The same history of a kitchen that writes down that it sold out and not when."""
    days = tuple(replace(day, sold_out=dict.fromkeys(day.sold_out)) for day in history.days)
    return History(days, history.sales)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_sold_out_day_is_at_least(seed: int) -> None:
    made = invent(kitchen.brisket_truth(stock=0.8), kitchen.FIRST, WEEKS, seed)
    model = fit(made.history, kitchen.harvest())
    true, estimated, naive = means(made, model, "packer brisket")
    out = model.days.sold_out[:, model.cuts.index("packer brisket")].mean()
    print(f"sold out on {out:.0%} of days: true {true:.1f}, estimated {estimated:.1f} ({estimated / true - 1:+.1%}), ")
    print(f"mean sold {naive:.1f} ({naive / true - 1:+.1%})")
    assert naive / true - 1 <= -0.15
    assert abs(estimated / true - 1) <= 0.05


def test_the_time_of_selling_out_need_not_be_known() -> None:
    """Then a sold-out day tells much less, so three kitchens are taken together."""
    ratios = []
    for seed in (4, 5, 6):
        made = invent(kitchen.brisket_truth(stock=0.9), kitchen.FIRST, WEEKS, seed)
        true, estimated, naive = means(made, fit(untimed(made.history), kitchen.harvest()), "packer brisket")
        ratios.append((estimated / true, naive / true))
    estimated, naive = np.mean(ratios, axis=0)
    print(f"time of selling out unknown: estimated {estimated - 1:+.1%}, mean sold {naive - 1:+.1%}")
    assert naive < 0.9
    assert abs(estimated - 1) < 0.06


def test_where_nothing_sells_out_the_estimate_is_the_mean() -> None:
    made = invent(kitchen.brisket_truth(stock=3.0), kitchen.FIRST, WEEKS, 5)
    model = fit(made.history, kitchen.harvest())
    _, estimated, naive = means(made, model, "packer brisket")
    assert estimated == pytest.approx(naive, rel=0.02)


def test_the_profile_of_the_day_is_found() -> None:
    truth = kitchen.brisket_truth(stock=0.8)
    short = fit(invent(truth, kitchen.FIRST, WEEKS, 6).history, kitchen.harvest())
    whole = fit(invent(replace(truth, stock={5: (900.0, 400.0)}), kitchen.FIRST, WEEKS, 6).history, kitchen.harvest())
    by_noon = [model.profile[5][: 13 * 4, 0].sum() / model.profile[5][: 17 * 4, 0].sum() for model in (short, whole)]
    assert by_noon[0] == pytest.approx(by_noon[1], abs=0.03)


def test_bands_hold_eight_days_in_ten() -> None:
    """A quick look at few seasons; `backtest --seasons 500` is the long one (README, Figures)."""
    found = simulated_seasons(harvest_truth(), kitchen.harvest(), seasons=16, weeks=14, seed=2)
    print(f"{found.coverage:.1%} of {found.forecasts} true demands in the band, bias {found.bias:+.1%}")
    # Cuts of one season share its luck, so 16 seasons say no more than this.
    assert 0.70 <= found.coverage <= 0.90
    assert abs(found.bias) < 0.06
    assert found.naive_bias < found.bias
