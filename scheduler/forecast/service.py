"""The service day played thousands of times at once: customers come, wait, order, are cut for, go without, or leave.

One step handles the n-th customer of every day together, so all is numpy over days. Customers are served in the order
in which they come: first by one of the people at the counter, then by one of the cutters, each of whom is kept as the
time when he is free (Kiefer and Wolfowitz's recursion for several servers). What is on the shelf counts when a customer
reaches the counter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.forecast.special import Floats

BLOCK = 5000
"""Days that are played together: fewer cost more calls, more leave the cache."""
POOL = 1 << 18
"""Random service times are taken from a pool of so many, at a random place of it for each customer."""
SERVICE_SHAPE = 4.0
"""Shape of the gamma distributed service times: they differ by half of their mean. Common practice, no source."""
PATIENCE_SHAPE = 3.0
"""Shape of the Weibull distributed patience. Common practice, no source."""
LUT = 1 << 12

Small = NDArray[np.float32]
Places = NDArray[np.int64]
Amounts = NDArray[np.floating[Any]]
Reason = Literal["meat", "counter", "cutting"]
REASONS: tuple[Reason, ...] = ("meat", "counter", "cutting")


@dataclass(frozen=True)
class Setup:
    """A day to be played. Times are in minutes from opening."""

    rates: Floats
    """Expected tickets of each kind (draw, basket)."""
    portions: Floats
    """Portions (basket, cut)."""
    arrivals: Floats
    """Share of the customers that have come by equal steps from opening to closing, from 0 to 1."""
    length_min: float
    made: Floats
    """Portions made by the end of each step (cut, draw, step)."""
    gone: Floats
    """Portions past their time (cut, step)."""
    step_min: float
    counter: int
    cutters: int
    order_min: float
    cut_min: Floats
    """A cutter's minutes for a portion, by cut."""
    patience_min: float
    take_another: float
    popular: Floats
    """By what odds somebody takes each cut instead of one that is out."""
    service_shape: float = SERVICE_SHAPE


@dataclass(frozen=True)
class Played:
    """What happened, by day and step of time."""

    sold: Amounts
    """Portions (cut, draw, step) handed over in each step: ordered, paid and cut."""
    missed: Amounts
    """Portions (cut, draw) that customers came for and did not get."""
    lost: Amounts
    """Portions (reason, draw, step) that were not sold: no meat, line too long at the counter, or at the boards."""
    thrown: Amounts
    """Portions (cut, draw) that went past their time unsold."""
    left: Amounts
    """Portions (cut, draw) left at the end."""
    waiting: Amounts
    """People (draw, step) who have come and are not being cut for yet."""
    longest_min: Amounts
    """Longest wait of a day, from coming to the start of cutting."""
    mean_wait_min: Amounts
    served: Amounts
    """Customers who got something."""
    counter_wait_min: Amounts
    """Mean wait for the counter alone."""
    cutting_wait_min: Amounts
    """Mean wait for the boards alone."""


def play(setup: Setup, seed: int = 0) -> Played:
    """Play all draws of a day."""
    count = setup.made.shape[1]
    blocks = []
    for number, first in enumerate(range(0, count, BLOCK)):
        rng = np.random.Generator(np.random.SFC64([seed, number]))
        blocks.append(_Block(setup, slice(first, min(first + BLOCK, count)), rng).run())
    day_axis = {"sold": 1, "missed": 1, "lost": 1, "thrown": 1, "left": 1}
    names = Played.__dataclass_fields__
    return Played(**{n: np.concatenate([getattr(b, n) for b in blocks], axis=day_axis.get(n, 0)) for n in names})


class _Block:
    """Some of the days, sorted so that those with most customers come first and the busy ones are always a prefix.

    Tables by day and step are flat, with the cuts of one step side by side in memory.
    """

    def __init__(self, setup: Setup, days: slice, rng: np.random.Generator) -> None:
        self.setup, self.rng = setup, rng
        rates = setup.rates[days]
        customers = rng.poisson(rates.sum(axis=1))
        self.order = np.argsort(-customers, kind="stable")
        self.customers = customers[self.order]
        self.count, self.cuts = len(customers), setup.made.shape[0]
        self.steps = setup.made.shape[2]
        mix = np.cumsum(rates[self.order], axis=1)
        self.mix = np.ascontiguousarray((mix / np.maximum(mix[:, -1:], 1e-12)).T.astype(np.float32))
        made = setup.made[:, days][:, self.order].astype(np.float32)
        self.made: Small = np.ascontiguousarray(made.transpose(1, 2, 0).reshape(-1, self.cuts))
        self.gone: Small = np.ascontiguousarray(setup.gone.T.astype(np.float32))
        self.going = np.flatnonzero(np.diff(setup.gone.sum(axis=0), prepend=0.0))
        self.portions = setup.portions.astype(np.float32)
        self.cut_min = setup.cut_min.astype(np.float32)
        self.ones: Small = np.ones(self.cuts, np.float32)
        grid = np.linspace(0, 1, len(setup.arrivals))
        self.when = np.interp(np.linspace(0, 1, LUT + 1), setup.arrivals, grid * setup.length_min).astype(np.float32)
        shape = setup.service_shape
        self.service = (rng.standard_gamma(shape, POOL) / shape).astype(np.float32)
        patience = setup.patience_min * (-np.log2(1 - rng.random(POOL))) ** (1 / PATIENCE_SHAPE)
        self.patience = patience.astype(np.float32)
        self.used: Small = np.zeros((self.count, self.cuts), np.float32)
        self.thrown, self.missed = np.zeros_like(self.used), np.zeros_like(self.used)
        self.sold: Small = np.zeros((self.count * self.steps, self.cuts), np.float32)
        self.lost: Small = np.zeros((self.count * self.steps, len(REASONS)), np.float32)
        self.waiting: Small = np.zeros(self.count * self.steps, np.float32)
        self.counter = [np.zeros(self.count, np.float32) for _ in range(setup.counter)]
        self.boards = [np.zeros(self.count, np.float32) for _ in range(setup.cutters)]
        self.sums: Small = np.zeros((4, self.count), np.float32)
        """Longest wait; waits at the counter and at the boards added up; customers served."""
        self.row = np.arange(self.count) * self.steps

    def run(self) -> Played:
        """Customer after customer."""
        share = np.zeros(self.count, np.float32)
        for number in range(int(self.customers.max(initial=0))):
            active = int(np.searchsorted(-self.customers, -number, side="left"))
            # The least of k uniform draws on what is left of the day: the next customer of k who are still to come.
            rest = (self.customers[:active] - number).astype(np.float32)
            draw = self.rng.random(active, dtype=np.float32)
            share[:active] += (1 - share[:active]) * -np.expm1(np.log1p(-draw) / rest)
            self._customer(active, self._clock(share[:active]))
        return self._result()

    def _clock(self, share: Small) -> Small:
        place = share * LUT
        low = np.minimum(place.astype(np.int32), LUT - 1)
        before = self.when[low]
        return np.asarray(before + (place - low) * (self.when[low + 1] - before))

    def _step(self, at: Small) -> Places:
        return np.asarray(np.minimum((at / self.setup.step_min).astype(np.int64), self.steps - 1), dtype=np.int64)

    def _pool(self, pool: Small, n: int) -> Small:
        first = int(self.rng.integers(0, POOL - n))
        return pool[first : first + n]

    def _customer(self, n: int, at: Small) -> None:
        u = self.rng.random(n, dtype=np.float32)
        kind = np.minimum((self.mix[:, :n] < u).sum(axis=0, dtype=np.uint8), len(self.mix) - 1)
        want = self.portions[kind]
        reach = np.maximum(at, self.counter[0][:n])
        line = reach - at
        ahead = np.maximum(self.boards[0][:n] - reach, 0)
        stays = line + ahead <= self._pool(self.patience, n)
        reach = np.where(stays, reach, at)
        step = self._step(reach)
        here = self.row[:n] + step
        give = self._serve(n, want, step, here, stays)
        got = give @ self.ones
        served = got > 0
        ordered = reach + np.where(served, self.setup.order_min * self._pool(self.service, n), 0)
        start = np.maximum(ordered, self.boards[0][:n])
        work = (give @ self.cut_min) * self._pool(self.service, n)
        _seat(self.counter, np.where(served, ordered, 0), n)
        _seat(self.boards, np.where(served, start + work, 0), n)
        self.sold[self.row[:n] + self._step(start + work)] += give
        self._lose(want @ self.ones - got, stays, ahead > line, here)
        self._wait(n, at, np.where(served, line, 0), np.where(served, start - ordered, 0), start, served)

    def _serve(self, n: int, want: Small, step: Places, here: Places, stays: NDArray[np.bool_]) -> Small:
        """Portions given by cut; the shelf gets emptier."""
        used, made = self.used[:n], self.made[here]
        if len(self.going) and step.max() >= self.going[0]:
            past = np.minimum(self.gone[step], made) - used
            np.maximum(past, 0, out=past)
            self.thrown[:n] += past
            used += past
        free = made - used
        np.maximum(free, 0, out=free)
        give = np.minimum(want, free)
        give *= stays[:, None]
        missed = want - give
        self.missed[:n] += missed
        missing = missed @ self.ones
        unlucky = np.flatnonzero((missing > 0) & stays)
        if len(unlucky):
            give[unlucky] += self._instead(missing[unlucky], free[unlucky] - give[unlucky])
        used += give
        return np.asarray(give)

    def _instead(self, missing: Small, free: Small) -> Small:
        """What customers take instead of a cut that is out: one other cut, or nothing."""
        odds = np.cumsum(np.where(free > 0, self.setup.popular, 0.0), axis=1)
        n = len(missing)
        pick = (odds < (self.rng.random(n) * odds[:, -1])[:, None]).sum(axis=1)
        pick = np.minimum(pick, self.cuts - 1)
        willing = (self.rng.random(n) < self.setup.take_another) & (odds[:, -1] > 0)
        taken: Small = np.zeros((n, self.cuts), np.float32)
        each = np.arange(n)
        taken[each, pick] = np.where(willing, np.minimum(missing, free[each, pick]), 0)
        return taken

    def _lose(self, unsold: Small, stays: NDArray[np.bool_], at_boards: NDArray[np.bool_], here: Places) -> None:
        which = np.flatnonzero(unsold > 0)
        if len(which):
            reason = np.where(stays[which], 0, np.where(at_boards[which], 2, 1))
            self.lost[here[which], reason] += unsold[which]

    def _wait(self, n: int, at: Small, counter: Small, cutting: Small, start: Small, served: NDArray[np.bool_]) -> None:
        sums = self.sums[:, :n]
        np.maximum(sums[0], counter + cutting, out=sums[0])
        sums[1] += counter
        sums[2] += cutting
        sums[3] += served
        one = served.astype(np.float32)
        self.waiting[self.row[:n] + self._step(at)] += one
        self.waiting[self.row[:n] + self._step(start)] -= one

    def _result(self) -> Played:
        back = np.empty_like(self.order)
        back[self.order] = np.arange(self.count)
        days = (self.count, self.steps)
        longest, counter, cutting, served = (row[back].astype(np.float64) for row in self.sums)
        each = np.maximum(served, 1)
        made = self.made.reshape(*days, self.cuts)[:, -1]
        return Played(
            sold=self.sold.reshape(*days, self.cuts)[back].transpose(2, 0, 1),
            missed=self.missed[back].T,
            lost=self.lost.reshape(*days, len(REASONS))[back].transpose(2, 0, 1),
            thrown=self.thrown[back].T,
            left=np.maximum(made - self.used, 0)[back].T,
            waiting=np.cumsum(self.waiting.reshape(days), axis=1)[back],
            longest_min=longest,
            mean_wait_min=(counter + cutting) / each,
            served=served,
            counter_wait_min=counter / each,
            cutting_wait_min=cutting / each,
        )


def _seat(servers: list[Small], busy_until: Small, n: int) -> None:
    """The first server, who is free earliest, takes the customer; the servers stay in order of time.

    A customer who is not served has `busy_until` 0 and changes nothing.
    """
    carry = np.maximum(busy_until, servers[0][:n])
    for place in range(len(servers) - 1):
        later = servers[place + 1][:n]
        servers[place][:n] = np.minimum(carry, later)
        carry = np.maximum(carry, later)
    servers[-1][:n] = carry
