"""Invented histories with a known true demand: for the demo, and for tests of what the forecast recovers.

Everything in them is made up. `python -m scheduler.forecast.invented SCENARIO` writes sales.csv and service-days.csv
into a scenario folder.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from itertools import product
from pathlib import Path

import numpy as np

from scheduler.forecast.baskets import Baskets
from scheduler.forecast.special import Floats
from scheduler.model.history import DayRecord, History, Sale

REMARK = "# Invented: no real kitchen, till or customer."


@dataclass(frozen=True)
class Truth:
    """A kitchen's true demand."""

    cuts: tuple[str, ...]
    prices_cents: tuple[int, ...]
    hours: Mapping[int, tuple[time, time]]
    """Opening and closing by weekday, 0 is Monday."""
    portions: Mapping[int, tuple[float, ...]]
    """Mean portions by weekday and cut, of a plain day in spring."""
    stock: Mapping[int, tuple[float, ...]]
    """Portions cooked by weekday and cut."""
    kinds: tuple[tuple[tuple[int, int], ...], ...]
    """Baskets: (cut, portions) each."""
    kind_share: tuple[float, ...]
    shared_shape: float = 45.0
    own_shape: float = 90.0
    stock_sd: float = 0.06
    trend_a_year: float = 0.06
    season: float = 0.08
    events: Mapping[str, float] = field(default_factory=lambda: {"game": 1.25})
    event_odds: float = 0.1
    weathers: Mapping[str, float] = field(default_factory=lambda: {"fair": 1.0, "rain": 0.82, "hot": 0.95})
    weather_odds: tuple[float, ...] = (0.65, 0.2, 0.15)
    take_another: float = 0.6

    @property
    def baskets(self) -> Baskets:
        """Kinds of tickets as a table."""
        portions = np.zeros((len(self.kinds), len(self.cuts)))
        for row, kind in enumerate(self.kinds):
            for cut, n in kind:
                portions[row, cut] = n
        return Baskets(portions, np.array(self.kind_share) / sum(self.kind_share), 0)

    def mean(self, day: date, weather: str, event: str, last: date) -> Floats:
        """True expected portions of a day by cut."""
        season = 1 + self.season * np.sin(2 * np.pi * (day.timetuple().tm_yday - 80) / 365.25)
        trend = np.exp(self.trend_a_year * (day - last).days / 365.25)
        words = self.events.get(event, 1.0) * self.weathers.get(weather, 1.0)
        return np.asarray(np.array(self.portions[day.weekday()]) * season * trend * words)


@dataclass(frozen=True)
class Invented:
    """A history that never was, and what nobody saw of it."""

    history: History
    mean: Floats
    """True expected portions (day, cut)."""
    wanted: Floats
    """Portions (day, cut) that customers came for."""


def arrival_hump(hours: Floats, length: float) -> Floats:
    """Rate of customers by hours since opening: a rush in the first third, a lull, a smaller one near the end."""
    first = np.exp(-0.5 * ((hours / length - 0.27) / 0.16) ** 2)
    second = 0.45 * np.exp(-0.5 * ((hours / length - 0.75) / 0.14) ** 2)
    return np.asarray(0.3 + first + second)


def invent(truth: Truth, first: date, weeks: int, seed: int, ticket_weeks: int = 4) -> Invented:
    """Make up so many weeks of sales. The last `ticket_weeks` have ticket numbers, the others sums by quarter hour."""
    rng = np.random.default_rng(seed)
    dates = [first + timedelta(days=n) for n in range(7 * weeks)]
    dates = [day for day in dates if day.weekday() in truth.hours]
    ticketed = first + timedelta(weeks=weeks - ticket_weeks)
    records, sales, means, wanted = [], [], [], []
    for day in dates:
        weather = str(rng.choice(list(truth.weathers), p=truth.weather_odds))
        event = str(rng.choice(list(truth.events))) if rng.random() < truth.event_odds else ""
        mean = truth.mean(day, weather, event, dates[-1])
        opened, closed = (datetime.combine(day, clock) for clock in truth.hours[day.weekday()])
        sold_out, sold, came = _play_day(truth, mean, opened, closed, rng)
        records.append(DayRecord(opened, closed, sold_out, weather, event, "invented"))
        sales += list(_tickets(truth, sold) if day >= ticketed else _sums(truth, sold))
        means.append(mean)
        wanted.append(came)
    return Invented(History(tuple(records), tuple(sales)), np.array(means), np.array(wanted))


_Sold = list[tuple[datetime, int, dict[int, int]]]
"""Time, number of the ticket, portions by cut."""


def _play_day(
    truth: Truth, mean: Floats, opened: datetime, closed: datetime, rng: np.random.Generator
) -> tuple[dict[str, datetime | None], _Sold, Floats]:
    shared = rng.gamma(truth.shared_shape) / truth.shared_shape
    own = rng.gamma(truth.own_shape, size=len(truth.cuts)) / truth.own_shape
    rates = truth.baskets.rates((mean * shared * own)[None, :])[0]
    left = np.rint(np.array(truth.stock[opened.weekday()]) * (1 + truth.stock_sd * rng.standard_normal(len(mean))))
    length = (closed - opened) / timedelta(hours=1)
    grid = np.linspace(0, length, 241)
    whole = np.concatenate([[0.0], np.cumsum(arrival_hump((grid[1:] + grid[:-1]) / 2, length))])
    count = rng.poisson(rates.sum())
    came = np.sort(np.interp(rng.random(count), whole / whole[-1], grid))
    kinds = rng.choice(len(rates), size=count, p=rates / rates.sum())
    sold_out: dict[str, datetime | None] = {}
    sold: _Sold = []
    wanted = np.zeros(len(mean))
    for number, (hour, kind) in enumerate(zip(came, kinds, strict=True), start=1):
        at = (opened + timedelta(hours=float(hour))).replace(second=0, microsecond=0)
        got: dict[int, int] = {}
        for cut, n in truth.kinds[kind]:
            wanted[cut] += n
            if not left[cut]:
                if rng.random() >= truth.take_another or not left.any():
                    continue
                cut = int(rng.choice(len(mean), p=np.where(left > 0, mean, 0) / np.where(left > 0, mean, 0).sum()))
            take = int(min(n, left[cut]))
            left[cut] -= take
            got[cut] = got.get(cut, 0) + take
            if not left[cut]:
                sold_out[truth.cuts[cut]] = at
        if got:
            sold.append((at, number, got))
    return sold_out, sold, wanted


def _tickets(truth: Truth, sold: _Sold) -> Iterator[Sale]:
    for at, number, got in sold:
        for cut, n in got.items():
            yield Sale(at, truth.cuts[cut], n, n * truth.prices_cents[cut], str(number))


def _sums(truth: Truth, sold: _Sold) -> Iterator[Sale]:
    sums: dict[datetime, Counter[int]] = defaultdict(Counter)
    for at, _, got in sold:
        sums[at.replace(minute=at.minute // 15 * 15)].update(got)
    for at, cut in sorted((at, cut) for at, counts in sums.items() for cut in counts):
        n = sums[at][cut]
        yield Sale(at, truth.cuts[cut], n, n * truth.prices_cents[cut])


def sales_csv(history: History) -> str:
    """The sales as sales.csv."""
    lines = [REMARK, "time,item,amount,price,ticket"]
    for s in history.sales:
        lines.append(f"{s.at:%Y-%m-%dT%H:%M},{s.cut},{s.portions:g},{(s.price_cents or 0) / 100:g},{s.ticket}")
    return "\n".join(lines) + "\n"


def days_csv(history: History) -> str:
    """The days as service-days.csv."""
    lines = [REMARK, "opened,closed,sold_out,weather,event,note"]
    for d in history.days:
        out = "; ".join(f"{cut} {at:%H:%M}" for cut, at in d.sold_out.items() if at is not None)
        lines.append(f"{d.opened:%Y-%m-%dT%H:%M},{d.closed:%Y-%m-%dT%H:%M},{out},{d.weather},{d.event},{d.note}")
    return "\n".join(lines) + "\n"


def harvest_truth(cooked: float = 1.0) -> Truth:
    """The kitchen of the demo weekend. `cooked` scales how much it used to cook."""
    cuts = ("packer brisket", "pork butt", "spare ribs", "beef plate ribs", "turkey breast", "half chicken", "sausage")
    fri = (0.0, 0.0, 44.0, 0.0, 34.0, 19.0, 48.0)
    sat = (318.0, 142.0, 64.0, 33.0, 75.0, 30.0, 104.0)
    sun = (208.0, 116.0, 45.0, 18.0, 57.0, 17.0, 63.0)
    fri_stock = (0.0, 0.0, 42.0, 0.0, 40.0, 20.0, 50.0)
    sat_stock = (306.0, 154.0, 63.0, 30.0, 80.0, 32.0, 110.0)
    sun_stock = (198.0, 112.0, 42.0, 18.0, 56.0, 18.0, 66.0)
    singles = [((cut, n),) for cut, n in product(range(7), (1, 2))]
    pairs = [((0, 1), (1, 1)), ((0, 1), (6, 1)), ((0, 2), (2, 1)), ((1, 1), (6, 1)), ((4, 1), (6, 1)), ((0, 1), (4, 1))]
    groups = [((0, 3), (1, 2), (6, 2)), ((0, 4),), ((2, 2), (5, 1))]
    shares = [6.0, 5, 4, 3, 3, 1.5, 2, 0.6, 2.5, 1.5, 2, 0.6, 2.5, 1.5, 4, 3, 1.5, 1.5, 1.5, 1.5, 1.2, 1.5, 0.8]
    return Truth(
        cuts=cuts,
        prices_cents=(1250, 950, 1600, 2600, 1000, 1800, 600),
        hours={4: (time(17), time(20)), 5: (time(11), time(17)), 6: (time(11), time(16))},
        portions={4: fri, 5: sat, 6: sun},
        stock={
            4: tuple(cooked * n for n in fri_stock),
            5: tuple(cooked * n for n in sat_stock),
            6: tuple(cooked * n for n in sun_stock),
        },
        kinds=(*singles, *pairs, *groups),
        kind_share=tuple(shares),
    )


DEMO_FIRST, DEMO_WEEKS, DEMO_SEED = date(2025, 8, 8), 44, 20260612


def main(folder: Path) -> None:
    """Write the demo's history."""
    found = invent(harvest_truth(), DEMO_FIRST, DEMO_WEEKS, DEMO_SEED)
    (folder / "sales.csv").write_text(sales_csv(found.history), encoding="utf-8")
    (folder / "service-days.csv").write_text(days_csv(found.history), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
