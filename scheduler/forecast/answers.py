"""What a played service day says: sold by a time, out by a time, turned away, left over, and what holds sales back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.forecast.day import Forecast
from scheduler.forecast.service import REASONS, Amounts
from scheduler.forecast.special import Floats

BAND = (10.0, 50.0, 90.0)
FEW_LOST = 0.02
"""Below this share of lost portions nothing holds sales back but the number of customers."""

Binds = Literal["meat", "counter", "cutting", "customers"]


@dataclass(frozen=True)
class Odds:
    """Eight times in ten it lies between low and high."""

    low: float
    middle: float
    high: float
    mean: float


@dataclass(frozen=True)
class CutAnswer:
    """One cut on one service day, in portions."""

    cut: str
    wanted: Odds
    made: Odds
    sold_by: Odds
    sold: Odds
    out_by: float
    """Odds that it is gone by the time asked for."""
    out_at: tuple[datetime | None, datetime | None, datetime | None]
    """When it is gone in the 10th, 50th and 90th of 100 such days; None where it is not by closing."""
    turned_away: float
    """Portions that customers came for and did not get, on average."""
    left: float
    """Portions left at closing, on average, those thrown before included."""


@dataclass(frozen=True)
class DayAnswer:
    """One service day."""

    opens: datetime
    closes: datetime
    by: datetime
    cuts: tuple[CutAnswer, ...]
    sold_by: Odds
    sold: Odds
    cents_by: Odds
    cents: Odds
    all_out_by: float
    any_out_by: float
    binds_by: Binds
    binds: Binds
    lost_by: dict[str, float]
    """Portions not sold by the time asked for, by reason, on average."""
    lost: dict[str, float]
    longest_wait_min: Odds
    most_waiting: Odds
    lost_cents: float
    """Price of what customers came for and nobody sold them, on average."""
    left_cents: float
    """What leftovers still bring, on average."""


def odds_of(draws: Amounts) -> Odds:
    """Ten, fifty and ninety in a hundred, and the mean."""
    low, middle, high = np.percentile(draws, BAND) if len(draws) else (0.0, 0.0, 0.0)
    return Odds(float(low), float(middle), float(high), float(draws.mean()) if len(draws) else 0.0)


def shelf(forecast: Forecast) -> tuple[Amounts, NDArray[np.bool_]]:
    """Portions sold by the end of each step, and whether a cut is gone for good; both (cut, draw, step)."""
    sold, made, gone = forecast.played.sold, forecast.setup.made, forecast.setup.gone
    used = np.zeros(sold.shape[:2])
    out = np.zeros(sold.shape, dtype=np.bool_)
    for step in range(sold.shape[2]):
        used = np.maximum(used, np.minimum(gone[:, step, None], made[:, :, step])) + sold[:, :, step]
        out[:, :, step] = (used >= made[:, :, step]) & (made[:, :, step] >= made[:, :, -1])
    return np.cumsum(sold, axis=2), out


def answer(forecast: Forecast, by: datetime) -> DayAnswer:
    """All answers for one day; `by` is a local time."""
    total, out = shelf(forecast)
    last = max(0, forecast.step_at(by) - 1)
    before = forecast.step_at(by) > 0
    sold_by = total[:, :, last] * before
    sold = total[:, :, -1]
    out_by = out[:, :, last] & before & (forecast.setup.made[:, :, -1] > 0)
    price = forecast.price_cents[:, None]
    lost_by = forecast.played.lost[:, :, : last + 1].sum(axis=2).mean(axis=1) * before
    lost = forecast.played.lost.sum(axis=2).mean(axis=1)
    rest = forecast.played.left + forecast.played.thrown
    missed = np.maximum(forecast.played.missed - _swapped(forecast), 0)
    cuts = tuple(
        CutAnswer(
            cut=cut,
            wanted=odds_of(_wanted(forecast, i)),
            made=odds_of(forecast.setup.made[i, :, -1]),
            sold_by=odds_of(sold_by[i]),
            sold=odds_of(sold[i]),
            out_by=float(out_by[i].mean()),
            out_at=_out_at(forecast, out[i]),
            turned_away=float(forecast.played.missed[i].mean()),
            left=float(rest[i].mean()),
        )
        for i, cut in enumerate(forecast.cuts)
    )
    return DayAnswer(
        opens=forecast.day.opens,
        closes=forecast.day.closes,
        by=by,
        cuts=cuts,
        sold_by=odds_of(sold_by.sum(axis=0)),
        sold=odds_of(sold.sum(axis=0)),
        cents_by=odds_of((sold_by * price).sum(axis=0)),
        cents=odds_of((sold * price).sum(axis=0)),
        all_out_by=float(out_by.all(axis=0).mean()) if cuts else 0.0,
        any_out_by=float(out_by.any(axis=0).mean()) if cuts else 0.0,
        binds_by=_binds(lost_by, float(sold_by.sum(axis=0).mean()) if cuts else 0.0),
        binds=_binds(lost, float(sold.sum(axis=0).mean()) if cuts else 0.0),
        lost_by={reason: float(n) for reason, n in zip(REASONS, lost_by, strict=True)},
        lost={reason: float(n) for reason, n in zip(REASONS, lost, strict=True)},
        longest_wait_min=odds_of(forecast.played.longest_min),
        most_waiting=odds_of(forecast.played.waiting.max(axis=1)),
        lost_cents=float((missed * price).sum(axis=0).mean()),
        left_cents=float((forecast.played.left * forecast.leftover_cents[:, None]).sum(axis=0).mean()),
    )


def earned_cents(forecast: Forecast) -> Floats:
    """What each draw of a day brings in: portions sold, and what leftovers bring; thrown portions bring nothing."""
    sold = (forecast.played.sold.sum(axis=2) * forecast.price_cents[:, None]).sum(axis=0)
    return np.asarray(sold + (forecast.played.left * forecast.leftover_cents[:, None]).sum(axis=0))


def _wanted(forecast: Forecast, cut: int) -> Floats:
    """Portions of a cut that customers came for."""
    rates = forecast.setup.rates @ forecast.setup.portions[:, cut]
    return np.asarray(rates)


def _swapped(forecast: Forecast) -> Floats:
    """Portions of each draw that somebody took in place of another cut, shared out over the cuts that were missed."""
    missed = forecast.played.missed
    unsold = forecast.played.lost.sum(axis=(0, 2))
    swapped = np.maximum(missed.sum(axis=0) - unsold, 0)
    return np.asarray(missed / np.maximum(missed.sum(axis=0), 1e-9) * swapped)


def _out_at(forecast: Forecast, out: NDArray[np.bool_]) -> tuple[datetime | None, datetime | None, datetime | None]:
    steps = np.where(out.any(axis=1), out.argmax(axis=1) + 1, np.iinfo(np.int64).max)
    found = np.percentile(steps, BAND, method="lower")
    closing = forecast.closing
    first, middle, last = (forecast.time_of(step) if step <= closing else None for step in found)
    return first, middle, last


def _binds(lost: Floats, sold: float) -> Binds:
    if lost.sum() <= FEW_LOST * (sold + lost.sum()):
        return "customers"
    return REASONS[int(lost.argmax())]
