"""Small days and lines for the tests of the forecast."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import numpy as np

from scheduler.books import read_scenario
from scheduler.forecast.invented import Truth
from scheduler.forecast.service import Setup
from scheduler.model.history import DayRecord, History, Sale
from scheduler.model.menu import Cut, Hands, Recipe
from scheduler.model.scenario import Scenario

SCENARIOS = Path(__file__).parents[1] / "scenarios"
FIRST = date(2025, 8, 8)


def harvest() -> Scenario:
    return read_scenario(SCENARIOS / "harvest-weekend")


def cut(**changes: Any) -> Cut:
    """A cut of one portion, price 20, cost 12, leftover 8 (in units of a cent times 100)."""
    recipe = Recipe.model_validate(
        {
            "name": "plain",
            "low_f": 235,
            "high_f": 265,
            "wrap_kind": "none",
            "finish": {"early_min": 60, "likely_min": 90, "late_min": 120},
            "ref_weight_lb": 1,
        }
    )
    base: dict[str, Any] = {
        "name": "links",
        "code": "LK",
        "family": "sausage",
        "raw_low_lb": 1,
        "raw_high_lb": 1,
        "spaces": 1,
        "rest_spaces": 0,
        "hold_spaces": 1,
        "done_f": 160,
        "rest_min": 0,
        "hold_max_min": 600,
        "portions": 1,
        "price_cents": 2000,
        "cost_cents": 1200,
        "leftover_cents": 800,
        "hands": Hands(load_min=0, pull_min=0),
        "recipe": (recipe,),
    }
    return Cut.model_validate(base | changes)


def line(
    rate_per_min: float,
    length_min: float,
    *,
    draws: int,
    stock: float = 1e7,
    cutters: int = 1,
    serve_min: float = 0.0,
    step_min: float = 5.0,
    shape: float = 1.0,
) -> Setup:
    """One cut, one portion a customer, customers at a steady rate who never leave."""
    steps = int(np.ceil((length_min + 120) / step_min))
    return Setup(
        rates=np.full((draws, 1), rate_per_min * length_min),
        portions=np.ones((1, 1)),
        arrivals=np.linspace(0.0, 1.0, 3),
        length_min=length_min,
        made=np.full((1, draws, steps), stock),
        gone=np.zeros((1, steps)),
        step_min=step_min,
        counter=1,
        cutters=cutters,
        order_min=0.0,
        cut_min=np.array([serve_min]),
        patience_min=1e9,
        take_another=0.0,
        popular=np.ones(1),
        service_shape=shape,
    )


def brisket_truth(stock: float = 0.8, **changes: Any) -> Truth:
    """Saturdays with brisket and butt; so little brisket is cooked that most days sell out."""
    base: dict[str, Any] = {
        "cuts": ("packer brisket", "pork butt"),
        "prices_cents": (1250, 950),
        "hours": {5: (time(11), time(17))},
        "portions": {5: (300.0, 120.0)},
        "stock": {5: (300.0 * stock, 400.0)},
        "kinds": (((0, 1),), ((0, 2),), ((1, 1),), ((1, 2),), ((0, 1), (1, 1))),
        "kind_share": (3.0, 3.0, 2.0, 1.0, 1.5),
    }
    return Truth(**(base | changes))


def one_day() -> History:
    """One Saturday with a few sales."""
    opened, closed = datetime(2026, 6, 6, 11), datetime(2026, 6, 6, 17)
    sales = tuple(Sale(datetime(2026, 6, 6, hour), "packer brisket", 40.0) for hour in range(11, 17))
    return History((DayRecord(opened, closed),), sales)
