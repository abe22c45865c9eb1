"""The work of a step dealt out without a model: the scarcest first, each to whom it suits best, split where it must be.

Most steps are easy. What cannot be dealt like this may still be shared out some other way.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import product

from scheduler.solve.work import Work


@dataclass(frozen=True, slots=True)
class Part:
    """What one person does of some work; both by their numbers."""

    work: int
    person: int
    minutes: int
    pieces: int


@dataclass(frozen=True, slots=True)
class Table:
    """The work of one step, and those who can do it."""

    step_min: int
    todo: list[Work]
    prices: list[dict[int, int]]
    """By work: the number of each person who can do it, and how little it suits to give them a part of it."""
    stations: dict[str, int]
    """Most people at a kind of work."""

    def price(self, parts: list[Part]) -> int:
        """How little it suits."""
        return sum(self.prices[part.work][part.person] for part in parts)

    def least_price(self) -> int:
        """What no way to share it out goes below."""
        return sum(
            sum(sorted(prices.values())[: -(-work.minutes // self.step_min) if work.kind == "counter" else 1])
            for work, prices in zip(self.todo, self.prices, strict=True)
        )

    def fits(self, parts: list[Part]) -> bool:
        """True if one person can do some parts, one thing after another."""
        return in_a_row(self.step_min, [(self.todo[part.work], part.minutes) for part in parts])


def deal(table: Table) -> list[Part] | None:
    """All work given to people, as well as it suits; None if no way was found."""
    best: list[Part] | None = None
    for order in ORDERS:
        parts = _Dealer(table).dealt(order)
        if parts is not None and (best is None or table.price(parts) < table.price(best)):
            best = parts
            if table.price(best) == table.least_price():
                return best
    return None if best is None else _Changes(table, best).made()


Order = Callable[[Table, int], tuple[int, ...]]


def _few_can(table: Table, w: int) -> tuple[int, ...]:
    return len(table.prices[w]), -table.todo[w].minutes


def _long(table: Table, w: int) -> tuple[int, ...]:
    return (-table.todo[w].minutes,)


def _whole(table: Table, w: int) -> tuple[int, ...]:
    return table.todo[w].by_piece or table.todo[w].by_minute, -table.todo[w].minutes


def _dear(table: Table, w: int) -> tuple[int, ...]:
    return -min(table.prices[w].values(), default=0), -table.todo[w].minutes


ORDERS: tuple[Order, ...] = (_few_can, _long, _whole, _dear)
"""What is dealt first, after the counter."""


@dataclass(slots=True)
class _Dealer:
    table: Table
    parts: list[Part] = field(default_factory=list)
    mine: defaultdict[int, list[Part]] = field(default_factory=lambda: defaultdict(list))
    at: defaultdict[str, set[int]] = field(default_factory=lambda: defaultdict(set))
    """Who is at which kind of work."""

    def dealt(self, order: Order) -> list[Part] | None:
        """All work given to people, in some order; None if some is left."""
        todo = self.table.todo
        turns = sorted(range(len(todo)), key=lambda w: (todo[w].kind != "counter", *order(self.table, w)))
        return self.parts if all(map(self._give, turns)) else None

    def _give(self, w: int) -> bool:
        """Give a piece of work to one person if that can be, else to several; False if some of it is left."""
        work = self.table.todo[w]
        if work.kind == "counter":
            return self._at_the_counter(w)
        minutes, pieces = work.minutes, work.pieces
        while minutes > 0:
            able = [p for p in self.table.prices[w] if self._has_station(work, p)]
            alone = [p for p in able if self._fits(Part(w, p, minutes, pieces))]
            if alone:
                self._put(Part(w, min(alone, key=lambda p: self._rank(w, p)), minutes, pieces))
                return True
            share = self._largest(w, able, minutes, pieces) if work.by_piece or work.by_minute else None
            if share is None:
                return False
            self._put(share)
            pieces -= share.pieces
            minutes = _least_minutes(work, pieces) if work.by_piece else minutes - share.minutes
        return True

    def _at_the_counter(self, w: int) -> bool:
        """Whole people, for the whole step."""
        table = self.table
        wanted = -(-table.todo[w].minutes // table.step_min)
        free = sorted((price, p) for p, price in table.prices[w].items() if not self.mine[p])
        for _, p in free[:wanted]:
            self._put(Part(w, p, table.step_min, 0))
        return len(free) >= wanted

    def _rank(self, w: int, p: int) -> tuple[int, bool, int, int]:
        """Whom it suits first, then who is at such work already, then who has least time left."""
        done = sum(part.minutes for part in self.mine[p])
        return self.table.prices[w][p], p not in self.at[self.table.todo[w].kind], -done, p

    def _has_station(self, work: Work, p: int) -> bool:
        there = self.at[work.kind]
        return p in there or len(there) < self.table.stations.get(work.kind, len(there) + 1)

    def _largest(self, w: int, able: list[int], minutes: int, pieces: int) -> Part | None:
        """The largest part of some work that one person can take; None if nobody can take any."""
        work = self.table.todo[w]
        for some in range(min(minutes, self.table.step_min), 0, -1):
            taken = min(pieces, _most_pieces(work, some)) if work.by_piece else 0
            if work.by_piece and not taken:
                return None
            size = _least_minutes(work, taken) if taken else some
            takers = [p for p in able if self._fits(Part(w, p, size, taken))]
            if takers:
                return Part(w, min(takers, key=lambda p: self._rank(w, p)), size, taken)
        return None

    def _fits(self, part: Part) -> bool:
        mine = self.mine[part.person]
        return all(other.work != part.work for other in mine) and self.table.fits([*mine, part])

    def _put(self, part: Part) -> None:
        self.parts.append(part)
        self.mine[part.person].append(part)
        self.at[self.table.todo[part.work].kind].add(part.person)


class _Changes:
    """Parts given to somebody whom they suit better, or changed for those of another, while that helps."""

    def __init__(self, table: Table, parts: list[Part]) -> None:
        self.table = table
        self.parts = parts

    def made(self) -> list[Part]:
        """The parts after all changes that help."""
        while self._one():
            pass
        return self.parts

    def _one(self) -> bool:
        return any(self._handed_on(part) for part in self.parts) or any(
            self._changed(one, other) for one, other in product(self.parts, self.parts)
        )

    def _handed_on(self, part: Part) -> bool:
        prices = self.table.prices[part.work]
        better = sorted((price, p) for p, price in prices.items() if price < prices[part.person])
        return any(self._instead([part], [replace(part, person=p)]) for _, p in better)

    def _changed(self, one: Part, other: Part) -> bool:
        prices = self.table.prices
        if other.person not in prices[one.work] or one.person not in prices[other.work]:
            return False
        new = [replace(one, person=other.person), replace(other, person=one.person)]
        return self.table.price(new) < self.table.price([one, other]) and self._instead([one, other], new)

    def _instead(self, gone: list[Part], new: list[Part]) -> bool:
        """Put parts in the place of others if that can be; True if it was done."""
        parts = [*(part for part in self.parts if part not in gone), *new]
        for person in {part.person for part in new}:
            mine = [part for part in parts if part.person == person]
            if len({part.work for part in mine}) < len(mine) or not self.table.fits(mine):
                return False
        for kind, stations in self.table.stations.items():
            if len({part.person for part in parts if self.table.todo[part.work].kind == kind}) > stations:
                return False
        self.parts = parts
        return True


def in_a_row(step_min: int, mine: list[tuple[Work, int]]) -> bool:
    """True if one person's work, with its minutes, fits into a step: what presses first, what must wait last."""
    total = sum(minutes for _, minutes in mine)
    if total > step_min:
        return False

    def last(work: Work) -> int:
        return step_min if work.before is None else work.before

    for after, before in {(work.after, last(work)) for work, _ in mine if work.after or work.before is not None}:
        if sum(m for work, m in mine if work.after >= after and last(work) <= before) > before - after:
            return False
        if before < step_min and sum(m for work, m in mine if last(work) <= before) > before:
            return False
        if after and before < step_min and total > step_min - after:
            return False  # It comes first, and what is not so pressed waits for it.
    return True


def _least_minutes(work: Work, pieces: int) -> int:
    """Whole minutes for some pieces."""
    return max(1, -(-pieces * round(work.per_piece_min * 10) // 10)) if pieces else 0


def _most_pieces(work: Work, minutes: int) -> int:
    """Pieces that so many minutes are enough for."""
    each = round(work.per_piece_min * 10)
    return minutes * 10 // each if each else work.pieces
