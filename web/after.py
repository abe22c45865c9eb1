"""After the weekend: planned against real, what the cooks teach, what was left over and what it came to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from scheduler.books import read_cooks
from scheduler.learn.calibration import calibrate
from scheduler.learn.from_log import cooks_of
from scheduler.learn.layout import KEYED
from scheduler.learn.ranges import Lessons, learn
from scheduler.model.clock import elapsed_min
from scheduler.model.cooks import Cook
from scheduler.model.log import AnyEvent, Log
from scheduler.model.menu import Learned
from scheduler.model.plan import Load
from scheduler.model.scenario import Scenario
from scheduler.report.desk import Desk
from scheduler.report.learned_words import KeptRow, RangeRow, kept_rows, range_row
from scheduler.report.words import money_text, pieces_text, short_day
from web.kitchen import Kitchen
from web.service_board import turned_away
from web.store.entries import all_entries, log_of
from web.store.plans import KeptPlan, in_pieces
from web.store.uploads import answer

SPANS_MIN = 15


@dataclass(frozen=True, slots=True)
class LoadRow:
    """One load: planned against real."""

    code: str
    what: str
    on: str
    wrap: str
    done: str
    verdict: str
    outside: bool


@dataclass(frozen=True, slots=True)
class LessonRow:
    """One recipe's range, as planned and as the cooks say."""

    row: RangeRow
    field: str
    moved: bool


@dataclass(frozen=True, slots=True)
class SoldRow:
    """One cut of one day."""

    day: str
    cut: str
    made: int
    sold: int
    left: int
    gone_at: str
    turned_away: str
    taken: str


@dataclass(frozen=True, slots=True)
class AfterPage:
    """Context of the page."""

    number: int | None
    loads: tuple[LoadRow, ...]
    lessons: tuple[LessonRow, ...]
    kept: tuple[KeptRow, ...]
    sold: tuple[SoldRow, ...]
    money: tuple[tuple[str, str], ...]
    lost: tuple[str, ...]
    counted: bool
    """True if anybody counted sales."""
    done: str
    notes: tuple[str, ...]


def after_page(kitchen: Kitchen, done: str = "") -> AfterPage:
    """The context of the page."""
    kept = kitchen.in_force()
    if kept is None:
        return AfterPage(None, (), (), (), (), (), (), False, done, ())
    entries = all_entries(kitchen.database)
    log = log_of(entries, kept.scenario.weekend.zone)
    found, notes = cooks_behind(kitchen, kept, log)
    plain = in_pieces(kept)
    menu = plain.scenario.menu
    lessons = learn(menu, found)
    return AfterPage(
        number=kept.number,
        loads=tuple(_load_rows(kitchen.desk(kept.number), log)),
        lessons=tuple(LessonRow(range_row(one), f"{one.cut}|{one.recipe}", one.moved) for one in lessons.ranges),
        kept=kept_rows(calibrate(menu, found)) if found else (),
        sold=tuple(_sold(kitchen, plain, log)),
        money=_money(plain, log),
        lost=tuple(f"{loss.load}: {pieces_text(loss.pieces, loss.cut)}, {loss.why}" for loss in kept.plan.losses),
        counted=any(event.kind == "sold" for event in log.events),
        done=done,
        notes=(*log.notes, *notes),
    )


def cooks_behind(kitchen: Kitchen, kept: KeptPlan, log: Log) -> tuple[tuple[Cook, ...], tuple[str, ...]]:
    """Cooks of this weekend's log, and those of cooks.csv in the scenario folder; and what could not be read.

    Pairs of a trial are left out where their range stands for two methods at once: it is nobody's to learn.
    """
    plain = in_pieces(kept)
    keyed = {load.code for load in kept.plan.loads if load.recipe == KEYED}
    loads = tuple(load for load in plain.plan.loads if load.code not in keyed)
    before = read_cooks(kitchen.settings.folder, plain.scenario)
    told = tuple(problem.sentence() for problem in before.bad[:5])
    notes = before.notes if before.cooks or before.bad else ()
    logged = cooks_of(plain.plan.model_copy(update={"loads": loads}), plain.scenario, log)
    return (*before.cooks, *logged), (*notes, *told)


def with_lesson(scenario: Scenario, lessons: Lessons, cut: str, recipe: str, on: datetime) -> Scenario:
    """The scenario with what was learned of one recipe. LookupError if nothing was."""
    found = next((one for one in lessons.ranges if (one.cut, one.recipe) == (cut, recipe) and one.moved), None)
    if found is None:
        raise LookupError("nothing was learned of that recipe")
    learned = Learned(on=on.date(), cooks=found.cooks, before=found.before)
    menu = scenario.menu
    cuts = tuple(
        one
        if one.name != cut
        else one.model_copy(
            update={
                "recipes": tuple(
                    r if r.name != recipe else r.model_copy(update={"finish": found.found, "learned": learned})
                    for r in one.recipes
                )
            }
        )
        for one in menu.cuts
    )
    return scenario.model_copy(update={"menu": menu.model_copy(update={"cuts": cuts})})


def _load_rows(desk: Desk, log: Log) -> Iterator[LoadRow]:
    for load in sorted(desk.plan.loads, key=lambda load: (load.load_at, load.code)):
        mine = [event for event in log.events if getattr(event, "load", None) == load.code]
        done = _first(mine, "done", "pulled")
        verdict = _verdict(load, done)
        yield LoadRow(
            code=load.code,
            what=desk.pieces(load),
            on=_against(desk, load.load_at, _first(mine, "loaded")),
            wrap="" if load.wrap_at is None else _against(desk, load.wrap_at, _first(mine, "wrapped")),
            done=f"{desk.day_span(load.early_done_at, load.late_done_at)}; "
            + ("not written down" if done is None else desk.moment(done)),
            verdict=verdict,
            outside=verdict.startswith(("before", "after")),
        )


def _first(events: Sequence[AnyEvent], *kinds: str) -> datetime | None:
    return next((event.at for event in events if event.kind in kinds), None)


def _against(desk: Desk, planned: datetime, real: datetime | None) -> str:
    if real is None:
        return desk.moment(planned)
    minutes = elapsed_min(planned, real)
    if abs(minutes) < 1:
        return f"{desk.moment(planned)}, as planned"
    return f"{desk.moment(planned)}, {abs(minutes)} min {'late' if minutes > 0 else 'early'}"


def _verdict(load: Load, done: datetime | None) -> str:
    if done is None:
        return ""
    if done < load.early_done_at:
        return f"before early by {elapsed_min(done, load.early_done_at)} min"
    if done > load.late_done_at:
        return f"after late by {elapsed_min(load.late_done_at, done)} min"
    return "inside its range"


def _sold(kitchen: Kitchen, kept: KeptPlan, log: Log) -> Iterator[SoldRow]:
    told = answer(kitchen.database, "forecast")
    odds: dict[str, Any] = told[1].get("odds", {}) if told else {}
    weekend, desk = kept.scenario.weekend, kitchen.desk(kept.number)
    for day in sorted(weekend.days, key=lambda day: day.opens):
        opens, closes = weekend.local(day.opens), weekend.local(day.closes)
        for cut in kept.scenario.menu.cuts:
            loads = [
                load
                for load in kept.plan.loads
                if load.cut == cut.name and load.ready_by_at < closes and load.served_until_at > opens
            ]
            if not loads:
                continue
            made = round(sum(load.pieces for load in loads) * cut.portions)
            counts = [e for e in log.events if e.kind == "sold" and e.cut == cut.name and e.at.date() == opens.date()]
            sold = max((e.portions for e in counts), default=0)
            out = next((e.at for e in counts if e.portions >= made), None)
            vain = ""
            drawn = odds.get(f"{day.opens.date()}", {}).get("cuts", {}).get(cut.name)
            if out is not None and drawn is not None:
                spans = (out - opens) / timedelta(minutes=SPANS_MIN)
                vain = f"about {turned_away(tuple(tuple(draw) for draw in drawn), max(0.0, spans), made):.0f}"
            yield SoldRow(
                day=short_day(day.opens),
                cut=cut.name,
                made=made,
                sold=sold,
                left=max(0, made - sold),
                gone_at="" if out is None else desk.clock(out),
                turned_away=vain,
                taken=money_text(sold * cut.price_cents),
            )


def _money(kept: KeptPlan, log: Log) -> tuple[tuple[str, str], ...]:
    menu = kept.scenario.menu
    last: dict[tuple[str, Any], int] = {}
    for event in log.events:
        if event.kind == "sold":
            last[event.cut, event.at.date()] = event.portions
    taken = sum(portions * menu.cut(cut).price_cents for (cut, _), portions in last.items())
    meat = sum(load.pieces * menu.cut(load.cut).cost_cents for load in kept.plan.loads)
    cost = kept.plan.cost
    earned = taken - meat - cost.wages - cost.wood
    return (
        ("taken, as counted", money_text(taken)),
        ("meat, as planned", money_text(meat)),
        ("wages, as planned", money_text(cost.wages)),
        ("wood, as planned", money_text(cost.wood)),
        ("left", money_text(earned)),
    )
