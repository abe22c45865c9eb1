"""What guests are told of a changed plan, cut by cut and short enough to be called out; and the count for the crew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from scheduler.model.weekend import order_of
from scheduler.report.desk import Desk
from scheduler.report.words import list_text, on_the_board, pieces_text, sentence
from scheduler.reshuffle.changed import WaveChange

PRESSING = timedelta(hours=12)
"""Guests are told of the service days that begin within so long."""
NOTICED = timedelta(minutes=10)
"""A wave that is less late than this is no news; common practice, no source."""
FEW_SHARE = 0.2
"""Guests are not told of short or late pieces that are fewer than so much of their wave: the others sell first; common
practice, no source. Who has an order is told of each."""
QUARTER_MIN = 15
TOLD_MIN = 30
"""Guests are told the half hour: sooner said, and sooner kept."""

ALL, FEWER, NONE = range(3)
"""How much guests find of a cut, against what the old plan had."""
THEN = {ALL: "", FEWER: ", then fewer", NONE: ", then none"}


@dataclass(frozen=True, slots=True)
class _Serving:
    """All that one cut has for one time, or for one order."""

    cut: str
    order: str
    """Empty for a wave."""
    ready_by_at: datetime
    before: int
    """Pieces that the old plan had for it."""
    left: int
    late: int
    """Of those left, how many come so late that it is noticed."""
    late_until: datetime
    """By when the last of them may be ready, to the next quarter of an hour; the time it was to be ready if none is
    late."""

    @property
    def worse(self) -> bool:
        """True if there is anything to say."""
        return self.left < self.before or self.late > 0

    def levels(self) -> Iterator[tuple[datetime, int]]:
        """How much guests find of it, from when."""
        yield self.ready_by_at, self._level(self.left - self.late)
        if self.late:
            yield self.late_until, self._level(self.left)

    def _level(self, there: int) -> int:
        if there == 0 < self.before:
            return NONE
        return FEWER if there < self.before and self.before - there >= FEW_SHARE * self.before else ALL


class Guests:
    """What a new plan means for those who wait for it."""

    def __init__(self, desk: Desk, waves: Sequence[WaveChange], since: datetime) -> None:
        self.desk = desk
        self.since = since
        self.servings = _servings(desk, waves, since)

    def told(self) -> Iterator[str]:
        """What to call out, for the service days that begin soon: each cut with something wrong, and until when."""
        worse = [serving for serving in self.servings if serving.worse]
        soon = [serving for serving in worse if serving.ready_by_at < self.since + PRESSING]
        for day in sorted({self._day(serving) for serving in soon}):
            yield from self._called_out([x for x in self.servings if not x.order and self._day(x) == day], day)
        for serving in soon:
            if serving.order:
                yield f"Order {serving.order}: {self._count(serving)}."

    def counted(self) -> Iterator[str]:
        """All that is short or late, in pieces, time by time."""
        times: dict[tuple[datetime, str], list[_Serving]] = {}
        for serving in self.servings:
            if serving.worse:
                times.setdefault((serving.ready_by_at, serving.order), []).append(serving)
        for (ready, order), servings in times.items():
            gone = [on_the_board(x.cut) for x in servings if not x.left]
            said = [f"no {list_text(gone, 'or')}"] if gone else []
            said += [self._count(x) for x in servings if x.left]
            head = self._near(ready) + (f", order {order}" if order else "")
            yield f"Short or late, {head}: {'; '.join(said)}."

    def _day(self, serving: _Serving) -> date:
        return self.desk.local(serving.ready_by_at).date()

    def _called_out(self, servings: Sequence[_Serving], day: date) -> Iterator[str]:
        """The cuts of one day, those with the same to be said of them in one breath; what there is none of first."""
        alike: dict[tuple[int, str], list[str]] = {}
        for cut in dict.fromkeys(serving.cut for serving in servings):
            turns = _turns([serving for serving in servings if serving.cut == cut])
            bad = next((at for at, (_, level) in enumerate(turns) if level != ALL), None)
            if bad is not None:
                key = turns[bad][1], self._when(turns, bad, day)
                alike.setdefault(key, []).append(on_the_board(cut))
        for (level, when), cuts in sorted(alike.items(), key=lambda item: -item[0][0]):
            some = f"no {list_text(cuts, 'or')}" if level == NONE else f"fewer {list_text(cuts)}"
            yield sentence(f"{some}{when}")

    def _when(self, turns: list[tuple[datetime, int]], bad: int, day: date) -> str:
        """From when and until when, after the word and the cuts, and what comes then."""
        if len(turns) == 1:
            return " today" if day == self.desk.local(self.since).date() else f" on {day:%A}"
        start = f" from {self._near(turns[bad][0])}" if bad else ""
        if bad + 1 == len(turns):
            return start
        moment, level = turns[bad + 1]
        return f"{start} until {self._near(_up_to(moment, TOLD_MIN))}{THEN[level]}"

    def _count(self, serving: _Serving) -> str:
        """What is left of a serving, and how late it comes, in pieces."""
        left, late = serving.left, f"only by {self._near(serving.late_until)}" if serving.late else ""
        if not left:
            return f"no {on_the_board(serving.cut)}"
        if left < serving.before:
            some = f"{serving.late} " if serving.late < left else ""
            return f"{left} of {pieces_text(serving.before, serving.cut)}{f', {some}{late}' if late else ''}"
        some = f"{serving.late} of " if serving.late < left else ""
        return f"{some}{pieces_text(left, serving.cut)} {late}"

    def _near(self, moment: datetime) -> str:
        return self.desk.near(moment, self.since)


def _up_to(moment: datetime, minutes: int) -> datetime:
    """The next full quarter of an hour, or half hour."""
    return moment + timedelta(minutes=-moment.minute % minutes)


def _turns(servings: Sequence[_Serving]) -> list[tuple[datetime, int]]:
    """When what guests find of a cut changes, and to what."""
    found: list[tuple[datetime, int]] = []
    for moment, level in sorted(turn for serving in servings for turn in serving.levels()):
        if not found or found[-1][1] != level:
            found.append((moment, level))
    return found


def _servings(desk: Desk, waves: Sequence[WaveChange], since: datetime) -> tuple[_Serving, ...]:
    """What each cut has for each time and each order that is not over, in order of time; the demands of a wave whose
    pieces differ in worth are one."""
    worse = {(wave.cut, wave.wave): wave for wave in waves}
    found: dict[tuple[str, str, datetime], list[tuple[int, int, WaveChange | None]]] = {}
    for demand in desk.scenario.weekend.demands():
        if demand.served_until_at <= since:
            continue
        wave = worse.get((demand.cut, demand.wave))
        left = sum(x.pieces for x in desk.plan.loads if (x.cut, x.wave) == (demand.cut, demand.wave))
        more = 0 if wave is None else wave.short - wave.short_before
        key = demand.cut, order_of(demand.wave), demand.ready_by_at.astimezone(UTC)
        found.setdefault(key, []).append((left + more, left, wave))
    return tuple(_serving(*key, parts) for key, parts in sorted(found.items(), key=lambda item: item[0][2]))


def _serving(cut: str, order: str, ready: datetime, parts: list[tuple[int, int, WaveChange | None]]) -> _Serving:
    late, until = 0, ready
    for _, _, wave in parts:
        if wave is not None and wave.late_until is not None and wave.late_until >= ready + NOTICED:
            late += wave.late_pieces
            until = max(until, _up_to(wave.late_until, QUARTER_MIN))
    before, left = sum(part[0] for part in parts), sum(part[1] for part in parts)
    return _Serving(cut, order, ready, before, left, min(late, left), until)
