"""Tickets: which cuts are bought together, and how many portions of each.

Where the till gives ticket numbers, the commonest baskets are taken as they are. Where it does not, a customer buys one
or two portions of one cut.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from scheduler.forecast.days import sales_table
from scheduler.forecast.special import Floats
from scheduler.model.history import History

MOST_BASKETS = 24
LEAST_TICKETS = 50
"""Fewer tickets than this say nothing."""
MOST_PORTIONS = 12
"""A larger ticket is an order for a crowd, not a customer in the line."""
PLAIN = (1, 2)
"""Portions that a customer takes where nothing is known. Common practice, no source."""
FIT_STEPS = 400
DAY_STEPS = 4
CLOSE = 1e-3
LEAST_WANTED = 1e-9


@dataclass(frozen=True)
class Baskets:
    """Kinds of tickets."""

    portions: Floats
    """Portions (basket, cut)."""
    share: Floats
    """How common each is among the tickets seen."""
    tickets: int
    """Tickets seen; 0 if none had a number."""

    @property
    def lump(self) -> Floats:
        """Portions by which a cut is bought: E[n^2] / E[n] over the tickets that hold it; 1 where none does."""
        first = self.share @ self.portions
        second = self.share @ np.square(self.portions)
        return np.where(first > 0, second / np.maximum(first, 1e-12), 1.0)

    def of(self, places: Sequence[int]) -> Baskets:
        """The same with some of the cuts only."""
        kept = self.portions[:, list(places)]
        use = kept.any(axis=1)
        return Baskets(kept[use], self.share[use] / max(float(self.share[use].sum()), 1e-12), self.tickets)

    def rates(self, wanted: Floats) -> Floats:
        """Tickets (day, basket) of each kind that add up to the wanted portions (day, cut).

        Iterative scaling from the shares seen, so that baskets keep their proportions as far as they can.
        """
        weights = self.portions / np.maximum(self.portions.sum(axis=1, keepdims=True), 1e-12)
        middle = np.exp(np.log(np.maximum(wanted, LEAST_WANTED)).mean(axis=0, keepdims=True))
        start = self._scaled(np.maximum(self.share, 1e-6)[None, :], middle, weights, FIT_STEPS)
        # A day differs from the middle day by little, so a few steps are enough.
        first = start * np.exp(np.log(np.maximum(wanted, LEAST_WANTED) / middle) @ weights.T)
        return self._scaled(first, wanted, weights, DAY_STEPS)

    def _scaled(self, rates: Floats, wanted: Floats, weights: Floats, steps: int) -> Floats:
        for _ in range(steps):
            ratio = np.maximum(wanted, LEAST_WANTED) / np.maximum(rates @ self.portions, 1e-12)
            if np.abs(ratio - 1).max() < CLOSE:
                break
            rates = rates * np.exp(np.log(ratio) @ weights.T)
        return np.asarray(rates)


def baskets_of(history: History, cuts: Sequence[str]) -> Baskets:
    """The commonest baskets of a history, and each cut alone."""
    sales = sales_table(history, cuts)
    sales = sales[sales["ticket"] != ""]
    each = np.eye(len(cuts))
    whole = sales["portions"].round().clip(lower=1).to_numpy()
    bought = pd.DataFrame(each[sales["cut"]] * whole[:, None], index=sales.index)
    tickets = bought.groupby([sales["at"].dt.date, sales["ticket"]], sort=False).sum()
    tickets = tickets[tickets.sum(axis=1) <= MOST_PORTIONS]
    enough = len(tickets) >= LEAST_TICKETS
    chosen = {tuple(n * one): 0.5 for one in each for n in (PLAIN[:1] if enough else PLAIN)}
    if enough:
        kinds = Counter(tickets.itertuples(index=False, name=None))
        chosen |= dict(kinds.most_common(MOST_BASKETS - len(cuts)))
    portions = np.array(list(chosen)).reshape(len(chosen), len(cuts))
    share = np.array(list(chosen.values()), dtype=np.float64)
    return Baskets(portions, share / max(share.sum(), 1e-12), len(tickets) if enough else 0)
