"""The service day while it runs: ready, held, sold, left; the odds of each cut being gone; when to call last."""

from __future__ import annotations

import math
import secrets
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any

from scheduler.model.clock import add_min
from scheduler.model.menu import Cut
from scheduler.model.plan import Load
from scheduler.model.weekend import ServiceDay
from scheduler.report.words import clock_text, cut_text, day_text, money_text, pieces_text
from web.kitchen import Kitchen
from web.now_board import entry_text, state_now
from web.store.entries import Entry
from web.store.plans import KeptPlan, in_pieces
from web.store.uploads import answer

AFTER_MIN = 2 * 60
"""What is counted so long after closing still belongs to the day."""
LAST_CALL = timedelta(minutes=30)
LATEST = 6
LEAST_RATE = 1e-3
BUTTONS = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class HeldLoad:
    """A load of which there are pieces to slice."""

    code: str
    what: str
    left: int
    piece: str


@dataclass(frozen=True, slots=True)
class CutLine:
    """One cut on this day, in portions."""

    cut: str
    name: str
    price: str
    made: int
    ready: int
    next_ready: str
    sold: int
    left: int
    out_odds: str
    out_at: str
    last_call: bool
    gone: bool
    forecast: str
    """What was forecast to be sold by noon or so, beside what was planned and what was sold."""
    held: tuple[HeldLoad, ...]


@dataclass(frozen=True, slots=True)
class SoldLine:
    """Something that was counted."""

    id: int
    when: str
    by: str
    text: str


@dataclass(frozen=True, slots=True)
class ServiceBoard:
    """Context of the board."""

    stamp: str
    at: str
    day: str
    hours: str
    taken: str
    cuts: tuple[CutLine, ...]
    written: tuple[SoldLine, ...]
    buttons: tuple[int, ...]
    seed: str
    forecast_age: str
    """Empty where there is a forecast for this plan; else what to know about it."""


def day_of(kept: KeptPlan, now: datetime) -> ServiceDay:
    """The service day that is on, or the next one; after the last, the last."""
    weekend = kept.scenario.weekend
    days = sorted(weekend.days, key=lambda day: day.opens)
    return next((day for day in days if now <= add_min(weekend.local(day.closes), AFTER_MIN)), days[-1])


def service_board(kitchen: Kitchen, kept: KeptPlan) -> ServiceBoard:
    """The board of the day."""
    now = kitchen.settings.now().astimezone(UTC)
    _, entries = state_now(kitchen, kept)
    day = day_of(kept, now)
    told = answer(kitchen.database, "forecast")
    kept = in_pieces(kept)
    board = _Day(kitchen, kept, entries, day, now, told[1] if told else {})
    lines = tuple(board.lines())
    menu = kept.scenario.menu
    taken = sum(line.sold * menu.cut(line.cut).price_cents for line in lines)
    style = kept.scenario.weekend.clock
    return ServiceBoard(
        stamp=str(int(kitchen.settings.now().timestamp() * 1000)),
        at=kitchen.moment(now, kept.scenario),
        day=day_text(day.opens),
        hours=f"{clock_text(board.opens, style)} to {clock_text(board.closes, style)}",
        taken=money_text(taken),
        cuts=lines,
        written=tuple(board.written()),
        buttons=BUTTONS,
        seed=secrets.token_hex(8),
        forecast_age=_age(kitchen, kept, told),
    )


def _age(kitchen: Kitchen, kept: KeptPlan, told: tuple[datetime, dict[str, Any]] | None) -> str:
    if told is None:
        return "There is no forecast yet, so there are no odds."
    if told[1].get("plan") not in (None, kept.number):
        return f"The odds rest on the forecast of {kitchen.moment(told[0], kept.scenario)}, made for another plan."
    return ""


@dataclass(frozen=True)
class _Day:
    kitchen: Kitchen
    kept: KeptPlan
    entries: Sequence[Entry]
    day: ServiceDay
    now: datetime
    told: dict[str, Any]

    @property
    def opens(self) -> datetime:
        return self.kept.scenario.weekend.local(self.day.opens)

    @property
    def closes(self) -> datetime:
        return self.kept.scenario.weekend.local(self.day.closes)

    def loads(self, cut: Cut) -> list[Load]:
        """Loads of a cut that this day sells."""
        return [
            load
            for load in self.kept.plan.loads
            if load.cut == cut.name and load.ready_by_at < self.closes and load.served_until_at > self.opens
        ]

    def counted(self, kind: str, name: str) -> Counter[str]:
        """What was counted on this day, by cut or load."""
        found: Counter[str] = Counter()
        for entry in self.entries:
            event = entry.event or {}
            if entry.undone or event.get("kind") != kind:
                continue
            if day_of(self.kept, entry.at) == self.day:
                found[event[name]] += event["portions" if kind == "sold" else "pieces"]
        return found

    def lines(self) -> Iterator[CutLine]:
        """Cuts that the day sells, in the order of the menu."""
        sold, sliced = self.counted("sold", "cut"), self.counted("sliced", "load")
        thrown = self.counted("discarded", "load")
        for cut in self.kept.scenario.menu.cuts:
            loads = self.loads(cut)
            if loads or sold[cut.name]:
                yield self._line(cut, loads, sold[cut.name], sliced, thrown)

    def _line(self, cut: Cut, loads: list[Load], sold: int, sliced: Counter[str], thrown: Counter[str]) -> CutLine:
        style = self.kept.scenario.weekend.clock
        done = {str((e.event or {}).get("load")) for e in self.entries if self._pulled(e)}
        ready = [load for load in loads if load.code in done or self._rested(load) <= self.now]
        waiting = sorted(self._rested(load) for load in loads if load not in ready)
        made = _portions(cut, loads, thrown)
        left = max(0, made - sold)
        odds, out = self._odds(cut.name, sold, left)
        last = bool(left) and out is not None and out - self.now <= LAST_CALL and self.now >= self.opens
        pieces = [(load, load.pieces - thrown[load.code] - sliced[load.code]) for load in ready]
        return CutLine(
            cut=cut.name,
            name=cut_text(cut.name),
            price=money_text(cut.price_cents),
            made=made,
            ready=max(0, _portions(cut, ready, thrown) - sold),
            next_ready=clock_text(waiting[0].astimezone(self.opens.tzinfo), style) if waiting else "",
            sold=sold,
            left=left,
            out_odds=odds,
            out_at="" if out is None else clock_text(out, style),
            last_call=last,
            gone=not left and bool(made),
            forecast=self._forecast(cut, loads, sold),
            held=tuple(
                HeldLoad(load.code, pieces_text(count, load.cut), count, cut_text(load.cut))
                for load, count in pieces
                if count > 0
            ),
        )

    def _pulled(self, entry: Entry) -> bool:
        return not entry.undone and (entry.event or {}).get("kind") in ("pulled", "done", "held")

    def _rested(self, load: Load) -> datetime:
        return add_min(load.late_done_at.astimezone(UTC), self.kept.scenario.menu.cut(load.cut).rest_min)

    def _forecast(self, cut: Cut, loads: list[Load], sold: int) -> str:
        """What was forecast to be sold by noon, what the plan has ready by then, and what was sold."""
        told = self.told.get("sold_by", {}).get(f"{self.day.opens.date()}")
        if told is None or cut.name not in told["cuts"]:
            return ""
        low, middle, high = (round(n) for n in told["cuts"][cut.name])
        at = datetime.fromisoformat(told["by"]).replace(tzinfo=self.opens.tzinfo)
        planned = _portions(cut, [load for load in loads if self._rested(load) <= at], Counter())
        by = clock_text(at, self._style)
        return f"By {by}: {middle} forecast ({low} to {high}), {planned} planned to be ready, {sold} sold so far"

    @property
    def _style(self) -> Any:
        return self.kept.scenario.weekend.clock

    def _odds(self, cut: str, sold: int, left: int) -> tuple[str, datetime | None]:
        """Odds that a cut is gone by closing, and when it most likely is; by the draws that agree with the sales."""
        drawn = self.told.get("odds", {}).get(f"{self.day.opens.date()}")
        if drawn is None or cut not in drawn["cuts"] or self.now >= self.closes:
            return "", None
        spans = (self.now - self.opens) / timedelta(minutes=drawn["minutes"])
        key = tuple(tuple(draw) for draw in drawn["cuts"][cut])
        share, span = gone_odds(key, max(0.0, spans), sold, left)
        at = None if span is None else self.opens + timedelta(minutes=drawn["minutes"]) * span
        return f"{round(100 * share)} in 100", at

    def written(self) -> Iterator[SoldLine]:
        """What was counted last, newest first."""
        shown = [e for e in self.entries if not e.undone and (e.event or {}).get("kind") in ("sold", "sliced")]
        for entry in shown[-LATEST:][::-1]:
            yield SoldLine(entry.id, self.kitchen.moment(entry.at, self.kept.scenario), entry.by, entry_text(entry))


def _portions(cut: Cut, loads: Sequence[Load], thrown: Counter[str]) -> int:
    return round(sum(max(0, load.pieces - thrown[load.code]) for load in loads) * cut.portions)


@lru_cache(maxsize=64)
def gone_odds(draws: tuple[tuple[int, ...], ...], spans: float, sold: int, left: int) -> tuple[float, float | None]:
    """The share of days, among those like today so far, on which what is left is gone by closing; and the span in
    which it is gone on the middling one (None if on that one it is not).

    `draws` are portions asked for in each span of a day; `spans` have passed. A drawn day counts by the likelihood
    (Poisson) of today's sales so far given its own; the scheme is importance weighting, by the textbook.
    """
    weights, ends = [], []
    for draw in draws:
        weights.append(_log_likelihood(sold, _until(draw, spans)))
        ends.append(_gone_at(draw, spans, left))
    top = max(weights)
    shares = [math.exp(weight - top) for weight in weights]
    whole = sum(shares)
    gone = sum(share for share, end in zip(shares, ends, strict=True) if end is not None) / whole
    ordered = sorted(zip((end if end is not None else math.inf for end in ends), shares, strict=True))
    seen = 0.0
    for end, share in ordered:
        seen += share
        if seen >= whole / 2:
            return gone, None if math.isinf(end) else end
    return gone, None


def _until(draw: Sequence[float], spans: float) -> float:
    """Portions asked for until so many spans have passed."""
    whole = min(int(spans), len(draw))
    part = draw[whole] * (spans - whole) if whole < len(draw) else 0.0
    return sum(draw[:whole]) + part


def _log_likelihood(sold: int, expected: float) -> float:
    rate = max(expected, LEAST_RATE)
    return sold * math.log(rate) - rate


def _gone_at(draw: Sequence[float], spans: float, left: int) -> float | None:
    """The span in which so many more portions have been asked for; None if the day ends before."""
    if left <= 0:
        return spans
    at = min(int(spans), len(draw))
    begun = spans - at
    need = float(left)
    while at < len(draw):
        share = 1 - begun
        have = draw[at] * share
        if have >= need:
            return at + begun + share * need / have
        need -= have
        at, begun = at + 1, 0.0
    return None


def turned_away(draws: tuple[tuple[float, ...], ...], spans: float, made: int) -> float:
    """Portions asked for in vain on a day that sold out after so many spans: the mean over the days like it."""
    weights = [_log_likelihood(made, _until(draw, spans)) for draw in draws]
    top = max(weights)
    shares = [math.exp(weight - top) for weight in weights]
    more = [max(0.0, sum(draw) - _until(draw, spans)) for draw in draws]
    return sum(share * rest for share, rest in zip(shares, more, strict=True)) / sum(shares)
