"""The forecast in words, for the page and the terminal alike."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.forecast.answers import CutAnswer, DayAnswer, Odds
from scheduler.forecast.day import Change
from scheduler.forecast.weekend import DayForecast, WeekendForecast, WhatIf
from scheduler.report.words import (
    clock_text,
    count_text,
    cut_text,
    day_text,
    list_text,
    short_day,
    span_text,
    whole_dollars,
)

CAUTIONS = (
    "What is left at closing is chilled at once: from 135 °F to 70 °F within 2 hours and to 41 °F within 6 hours in "
    "all (FDA Food Code 3-501.14). What cannot be chilled so, or has stood below 135 °F for an unknown time, is thrown "
    "away.",
    "A forecast is odds, not a promise. Your local health authority's rule comes first.",
)
BINDS = {
    "meat": "meat that is ready",
    "counter": "people at the counter",
    "cutting": "cutting",
    "customers": "nothing but the number of customers",
}
WHY_LOST = {
    "meat": "no meat was ready",
    "counter": "the line at the counter was too long",
    "cutting": "cutting was slow",
}
LIKE = 100


@dataclass(frozen=True, slots=True)
class CutRow:
    """One cut of one day, ready to print."""

    what: str
    wanted: str
    made: str
    sold_by: str
    sold: str
    out_by: str
    gone: str
    turned_away: str
    left: str


@dataclass(frozen=True, slots=True)
class WhatIfRow:
    """One change of one day."""

    what: str
    brings: str
    meat: str
    sold: str
    wait: str


@dataclass(frozen=True, slots=True)
class DayWords:
    """One day in words."""

    title: str
    short: str
    hours: str
    by: str
    answers: tuple[str, ...]
    """The three questions, answered."""
    rows: tuple[CutRow, ...]
    binds: tuple[str, ...]
    line: str
    what_if: tuple[WhatIfRow, ...]


def odds_text(share: float) -> str:
    """Odds as days in a hundred: "3 in 100"; never 0 or 100 where it is not."""
    if 0 < share < 0.005:
        return "less than 1 in 100"
    if 0.995 < share < 1:
        return "more than 99 in 100"
    return f"{share * LIKE:.0f} in {LIKE}"


def range_text(odds: Odds) -> str:
    """The middle with its band: "135 (104 to 167)"."""
    low, middle, high = (f"{round(n):,}" for n in (odds.low, odds.middle, odds.high))
    return middle if low == high else f"{middle} ({low} to {high})"


def _money_range(odds: Odds) -> str:
    return f"{whole_dollars(odds.middle)} ({whole_dollars(odds.low)} to {whole_dollars(odds.high)})"


@dataclass(frozen=True)
class _Teller:
    """Says things on the kitchen's clock."""

    found: WeekendForecast

    def clock(self, at: datetime) -> str:
        """A local time."""
        return clock_text(at, self.found.scenario.weekend.clock)

    def gone(self, cut: CutAnswer) -> str:
        """When a cut is gone, early, middle and late."""
        early, middle, late = cut.out_at
        if not cut.made.mean:
            return "none is made"
        if early is None:
            return "lasts to closing"
        if middle is None:
            return f"lasts, on a busy day to {self.clock(early)}"
        if late is None:
            return f"{self.clock(middle)} ({self.clock(early)} to closing)"
        if early == late:
            return self.clock(middle)
        return f"{self.clock(middle)} ({span_text(early, late, self.found.scenario.weekend.clock)})"


def day_words(found: WeekendForecast, day: DayForecast) -> DayWords:
    """One day in words."""
    tell, said = _Teller(found), day.answer
    return DayWords(
        title=day_text(said.opens),
        short=short_day(said.opens),
        hours=f"{tell.clock(said.opens)} to {tell.clock(said.closes)}",
        by=tell.clock(said.by),
        answers=_answers(tell, said),
        rows=tuple(_row(tell, cut) for cut in said.cuts),
        binds=_binds(tell, said),
        line=(
            f"The longest wait of the day is {range_text(said.longest_wait_min)} minutes, and at its longest "
            f"{range_text(said.most_waiting)} people stand in line."
        ),
        what_if=tuple(_what_if(found, w) for w in day.what_if),
    )


def _answers(tell: _Teller, said: DayAnswer) -> tuple[str, ...]:
    by = tell.clock(said.by)
    first = (
        f"By {by} {range_text(said.sold_by)} portions are sold, for {_money_range(said.cents_by)}; by closing "
        f"{range_text(said.sold)}, for {_money_range(said.cents)}."
    )
    some = (
        f"Odds that something is gone by {by}: {odds_text(said.any_out_by)}; that everything is: "
        f"{odds_text(said.all_out_by)}."
    )
    return first, some, _first_gone(tell, said)


def _first_gone(tell: _Teller, said: DayAnswer) -> str:
    gone = sorted((cut.out_at[1], cut.cut) for cut in said.cuts if cut.out_at[1] is not None)
    if not gone:
        return "On a middling day every cut lasts to closing."
    names = [f"{cut_text(cut, 2)} at {tell.clock(at)}" for at, cut in gone if at is not None]
    return f"On a middling day these are gone before closing: {list_text(names)}."


def _row(tell: _Teller, cut: CutAnswer) -> CutRow:
    return CutRow(
        what=cut.cut,
        wanted=range_text(cut.wanted),
        made=f"{round(cut.made.mean):,}",
        sold_by=range_text(cut.sold_by),
        sold=range_text(cut.sold),
        out_by=odds_text(cut.out_by),
        gone=tell.gone(cut),
        turned_away=f"{round(cut.turned_away):,}",
        left=f"{round(cut.left):,}",
    )


def _binds(tell: _Teller, said: DayAnswer) -> tuple[str, ...]:
    def line(head: str, binds: str, lost: dict[str, float]) -> str:
        why = [f"{n:,.0f} because {WHY_LOST[reason]}" for reason, n in lost.items() if n >= 0.5]
        tail = f" Portions not sold, on average: {list_text(why)}." if why else ""
        return f"{head}, what holds sales back is {BINDS[binds]}.{tail}"

    by = tell.clock(said.by)
    return line(f"Until {by}", said.binds_by, said.lost_by), line("Over the whole day", said.binds, said.lost)


def change_text(change: Change) -> str:
    """A change in words."""
    if change.cutters:
        return f"{count_text(change.cutters, 'cutter')} more"
    if change.opens_earlier_min:
        hours = change.opens_earlier_min / 60
        return "Open an hour earlier" if hours == 1 else f"Open {hours:g} hours earlier"
    return list_text([f"{n} {cut_text(cut, n)} more" for cut, n in change.pieces])


def _signed(number: float, unit: str = "") -> str:
    whole = round(number)
    return f"{'+' if whole > 0 else '−' if whole < 0 else ''}{abs(whole):,}{unit}"


def _what_if(found: WeekendForecast, row: WhatIf) -> WhatIfRow:
    brings = row.earned_cents if abs(row.earned_cents) > 2 * row.noise_cents else 0
    sign = "+" if brings >= 50 else "−" if brings <= -50 else ""
    return WhatIfRow(
        what=change_text(row.change),
        brings=f"{sign}{whole_dollars(abs(brings))}" if sign else "no change",
        meat=whole_dollars(row.cost_cents) if row.cost_cents else "none",
        sold=_signed(row.sold),
        wait=_signed(row.wait_min, " min"),
    )


def source_words(found: WeekendForecast) -> tuple[str, ...]:
    """What the forecast rests on."""
    days, tickets = len(found.history.days), found.model.baskets.tickets
    rests = f"It rests on {count_text(days, 'service day')}" if days else "It rests on no sales at all"
    sold_out = int(found.model.days.sold_out.any(axis=1).sum()) if days else 0
    hidden = f", {sold_out} of which sold something out: those count as at least so much" if sold_out else ""
    bought = f"What is bought together comes from {count_text(tickets, 'ticket')}. " if tickets else ""
    meat = "the plan's loads, early or late" if found.planned else "every wave of weekend.toml ready at its time"
    return (
        f"{rests}{hidden}. {bought}Each day was played {found.draws:,} times; the meat is {meat}.",
        "A figure with two in brackets: it is below the first on 1 day in 10, and above the second on 1 day in 10.",
        *(f"Nothing is said of {day_text(day.opens)}: no wave and no sale of that day." for day in found.idle),
        *found.history.notes,
    )
