"""The opening sheet: what is ready when, what is short and why, how sure that is, what it costs, what is dangerous."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from scheduler.model.plan import Certificate, Plan, Relief
from scheduler.model.weekend import Demand, order_of
from scheduler.rehearse import rehearse
from scheduler.report.desk import Desk
from scheduler.report.sure_words import sure_words
from scheduler.report.words import (
    count_text,
    cut_text,
    day_text,
    degrees_text,
    money_text,
    percent_text,
    pieces_text,
    sentence,
    unique,
    wave_text,
)
from scheduler.trade.cautions import DEFER, TOPICS, cautions

LIMIT_WORDS = {
    "rack": "rack space",
    "rest": "rest space",
    "hold": "holding space",
    "hands": "hands",
    "fire": "fires",
    "time": "time",
    "temperature": "temperature",
}


@dataclass(frozen=True, slots=True)
class WaveLine:
    """What is ready of one cut for one wave."""

    when: str
    """Empty where it is the same as in the line above."""
    order: str
    what: str
    pieces: int
    asked: int
    until: str
    loads: tuple[str, ...]

    @property
    def short(self) -> int:
        """Pieces that are not made."""
        return self.asked - self.pieces


@dataclass(frozen=True, slots=True)
class ReadyDay:
    """All waves of one day."""

    title: str
    hours: str
    lines: tuple[WaveLine, ...]


@dataclass(frozen=True, slots=True)
class ShortLine:
    """What is short, and why."""

    what: str
    wave: str
    why: str


@dataclass(frozen=True, slots=True)
class CautionGroup:
    """Cautions of one topic."""

    topic: str
    sentences: tuple[str, ...]
    defer: str


@dataclass(frozen=True, slots=True)
class MoneyLine:
    """One part of the cost."""

    name: str
    amount: str
    note: str


@dataclass(frozen=True, slots=True)
class Opening:
    """Context of the opening sheet."""

    anchor: str
    title: str
    over: str
    when: str
    plan_line: str
    invented: bool
    figures: tuple[tuple[str, str], ...]
    days: tuple[ReadyDay, ...]
    shorts: tuple[ShortLine, ...]
    reliefs: tuple[str, ...]
    clock_change: str
    how_good: str
    how_sure: tuple[str, ...]
    money: tuple[MoneyLine, ...]
    total: str
    cautions: tuple[CautionGroup, ...]


def _wave_line(desk: Desk, demand: Demand, when: str) -> WaveLine:
    loads = [x for x in desk.plan.loads if (x.cut, x.wave) == (demand.cut, demand.wave)]
    return WaveLine(
        when=when,
        order=order_of(demand.wave),
        what=cut_text(demand.cut, demand.pieces),
        pieces=sum(load.pieces for load in loads),
        asked=demand.pieces,
        until=desk.near(demand.served_until_at, demand.ready_by_at),
        loads=tuple(sorted(load.code for load in loads)),
    )


def _days(desk: Desk) -> tuple[ReadyDay, ...]:
    weekend = desk.scenario.weekend
    hours = {
        day.opens.date(): f"Open {desk.span(weekend.local(day.opens), weekend.local(day.closes))}"
        for day in weekend.days
    }
    found: dict[str, list[WaveLine]] = {}
    titles: dict[str, str] = {}
    last = ""
    for demand in (d for d in weekend.demands() if d.pieces):
        day, when = desk.local(demand.ready_by_at).date(), desk.clock(demand.ready_by_at)
        title = day_text(day)
        titles.setdefault(title, hours.get(day, ""))
        lines = found.setdefault(title, [])
        lines.append(_wave_line(desk, demand, "" if lines and when == last else when))
        last = when
    return tuple(ReadyDay(title, titles[title], tuple(lines)) for title, lines in found.items())


def gap_words(certificate: Certificate, total_cents: int) -> str:
    """How far the plan may be from the best one, in words."""
    grid, bound, gap = certificate.grid_min, certificate.bound_cents, certificate.gap
    if certificate.stopped_by == "rule of thumb":
        return "This plan counts back from opening by rule of thumb. Nobody has looked for a cheaper one."
    if bound is None or gap is None:
        return "No bound was found in the time given, so how much cheaper a plan could be is not known."
    least, cost = money_text(bound), money_text(total_cents)
    if total_cents <= bound:
        return f"No plan on this {grid}-minute grid can cost less: this one costs {cost}, the least there is."
    return (
        f"No plan on this {grid}-minute grid can cost less than {least}; this one costs {cost}. "
        f"So at most {money_text(total_cents - bound)} ({percent_text(gap)}) could still be saved."
    )


def range_words(plan: Plan) -> tuple[str, ...]:
    """What the plan promises about uncertain cooks, and what it does not."""
    count = len(plan.loads)
    about = f"about {max(1, round(count / 10))} of the {count} loads" if count >= 10 else "1 load in 10"
    return (
        "The plan works for every finish between early and late of each load: room on the racks, at rest and in "
        "the cabinets is kept from the early finish to the late one, and ready means late plus rest.",
        "Early and late are about the 10th and the 90th percentile: of ten loads, about eight finish between them, "
        "one before early and one after late.",
        f"So be ready for {about} to come later than late. The probe rounds show it in time: say so at once.",
    )


def _relief(relief: Relief) -> str:
    gains = []
    if relief.pieces > 0:
        gains.append(f"{count_text(relief.pieces, 'piece')} fewer short")
    if relief.cents > 0:
        gains.append(f"{money_text(relief.cents)} better")
    gain = ", ".join(gains) or "no gain"
    return sentence(f"{relief.change} ({LIMIT_WORDS[relief.limit]}): {gain}")


def _money(desk: Desk) -> tuple[MoneyLine, ...]:
    cost = desk.plan.cost
    short = sum(s.pieces for s in desk.plan.shorts)
    hours = sum((s.ends_at - s.starts_at for s in desk.plan.shifts), timedelta()) / timedelta(hours=1)
    moved = sum(load.pieces for load in desk.plan.loads if load.moved)
    return (
        MoneyLine("Margin lost on shorts", money_text(cost.shorts), count_text(short, "piece")),
        MoneyLine(
            "Wages",
            money_text(cost.wages),
            f"{hours:g} hours on {count_text(len(desk.plan.shifts), 'shift')}",
        ),
        MoneyLine("Wood", money_text(cost.wood), count_text(len(desk.plan.fires), "fire")),
        MoneyLine("Quality lost by long holding", money_text(cost.hold), ""),
        MoneyLine("Moves at the wrap", money_text(cost.moves), count_text(moved, "piece")),
    )


def _clock_change(desk: Desk) -> str:
    change = desk.clock_change()
    if change is None:
        return ""
    moment, by = change
    way = "forward" if by > timedelta() else "back"
    return (
        f"The clocks go {way} on {day_text(moment)}; it is {desk.clock(moment)} then. Cooking times count the "
        f"minutes that pass, not the clock. Hours that come twice carry their zone's letters."
    )


def _figures(desk: Desk) -> tuple[tuple[str, str], ...]:
    plan = desk.plan
    first = min((load.load_at for load in plan.loads), default=None)
    lit = min((fire.lit_at for fire in plan.fires), default=None)
    people = unique(shift.person for shift in plan.shifts)
    return (
        (f"{sum(load.pieces for load in plan.loads):,}", f"pieces in {count_text(len(plan.loads), 'load')}"),
        (f"{sum(short.pieces for short in plan.shorts):,}", "pieces short"),
        (desk.moment(lit) if lit else "none", "first fire is lit"),
        (desk.moment(first) if first else "none", "first load goes on"),
        (str(len(people)), "people called in" if len(people) != 1 else "person called in"),
        (money_text(plan.cost.total), "cost of this plan"),
    )


def opening(desk: Desk) -> Opening:
    """The context of the opening sheet."""
    plan, weekend = desk.plan, desk.scenario.weekend
    first, last = desk.first_at, desk.last_at
    return Opening(
        anchor="opening",
        title=weekend.name,
        over=f"Crew plan{f' {plan.number}' if plan.number > 1 else ''}, {desk.scenario.site.name}",
        when=f"{day_text(first)} to {day_text(last)}, {last.year}",
        plan_line=f"Plan {plan.number}, scenario {plan.scenario} ({plan.scenario_hash})",
        invented=plan.invented,
        figures=_figures(desk),
        days=_days(desk),
        shorts=tuple(
            ShortLine(pieces_text(s.pieces, s.cut), wave_text(s.wave, plan.clock), sentence(s.why)) for s in plan.shorts
        ),
        reliefs=tuple(_relief(r) for r in sorted(plan.reliefs, key=lambda r: (-r.cents, -r.pieces))),
        clock_change=_clock_change(desk),
        how_good=gap_words(plan.certificate, plan.cost.total),
        how_sure=(*range_words(plan), *sure_words(rehearse(plan, desk.scenario), plan.clock)),
        money=_money(desk),
        total=money_text(plan.cost.total),
        cautions=tuple(
            CautionGroup(
                topic,
                tuple(degrees_text(caution.sentence) for caution in cautions(topic)),
                DEFER[topic],
            )
            for topic in TOPICS
        ),
    )
