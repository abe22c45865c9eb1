"""A plan on a page: its figures, what it breaks, its rack charts with loads that can be chosen, and the move form."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.audit import audit
from scheduler.model.clock import elapsed_min
from scheduler.model.plan import Load
from scheduler.report.desk import Desk
from scheduler.report.rack_chart import RackSheet, rack_sheets
from scheduler.report.words import count_text, degrees_text, money_text, percent_text, pieces_text, wave_text
from web.fields import TIME
from web.kitchen import Kitchen
from web.store.plans import KeptPlan, number_in_force


@dataclass(frozen=True, slots=True)
class LoadChoice:
    """A load as the move form knows it."""

    code: str
    what: str
    smoke: str
    """Value of its rack among the racks."""
    finish: str
    load_at: str
    wrap_at: str
    pinned: bool
    wrapped: bool


@dataclass(frozen=True, slots=True)
class BreachLine:
    """A rule that is broken."""

    rule: str
    sentence: str
    loads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """A smoker's or an oven's charts, with how a distance on them is a time."""

    sheet: RackSheet
    starts: tuple[str, ...]
    minutes: tuple[int, ...]
    racks: tuple[str, ...]
    """Value of each row in the form, in the order of the rows."""


@dataclass(frozen=True, slots=True)
class PlanPage:
    """Context of the page."""

    number: int
    how: str
    made: str
    in_force: bool
    may_use: bool
    may_move: bool
    parent: int | None
    figures: tuple[tuple[str, str], ...]
    breaches: tuple[BreachLine, ...]
    shorts: tuple[str, ...]
    helps: tuple[str, ...]
    charts: tuple[Chart, ...]
    loads: tuple[LoadChoice, ...]
    racks: tuple[tuple[str, str], ...]
    """Value and text of each rack and oven."""
    pins: tuple[str, ...]
    chosen: str
    mistakes: tuple[tuple[str, str], ...]
    """Field and sentence of what is wrong with a move."""
    grid_min: int


def rack_value(place: str, rack: str | None) -> str:
    """A rack or an oven as a form sends it."""
    return f"{place}|{rack or ''}"


def racks_of(desk: Desk) -> tuple[tuple[str, str], ...]:
    """All racks and ovens."""
    site = desk.scenario.site
    racks = [(rack_value(s.name, r.name), desk.spot_words(s.name, r.name)) for s in site.smokers for r in s.racks]
    return (*racks, *((rack_value(oven.name, None), desk.spot_words(oven.name, None)) for oven in site.ovens))


def _choice(desk: Desk, load: Load, pins: tuple[str, ...]) -> LoadChoice:
    def local(moment: datetime | None) -> str:
        return "" if moment is None else desk.local(moment).strftime(TIME)

    return LoadChoice(
        code=load.code,
        what=f"{desk.pieces(load)} for {desk.wave(load)}",
        smoke=rack_value(load.smoker, load.rack),
        finish=rack_value(load.finish_place, load.finish_rack),
        load_at=local(load.load_at),
        wrap_at=local(load.wrap_at),
        pinned=load.code in pins,
        wrapped=load.wrap_at is not None,
    )


def _charts(desk: Desk) -> tuple[Chart, ...]:
    site = desk.scenario.site
    rows = {f"smoker-{i}": [rack_value(s.name, r.name) for r in s.racks] for i, s in enumerate(site.smokers, 1)}
    rows |= {f"oven-{i}": [rack_value(o.name, None)] for i, o in enumerate(site.ovens, 1)}
    found = []
    for sheet in rack_sheets(desk):
        panels = [drawing.panel for drawing in sheet.drawings]
        starts = tuple(desk.local(panel.start).strftime(TIME) for panel in panels)
        minutes = tuple(elapsed_min(panel.start, panel.end) for panel in panels)
        found.append(Chart(sheet, starts, minutes, tuple(rows[sheet.anchor])))
    return tuple(found)


def _figures(kept: KeptPlan) -> tuple[tuple[str, str], ...]:
    plan = kept.plan
    gap = plan.certificate.gap
    cost = plan.cost
    return (
        ("Cost", money_text(cost.total)),
        ("of it could be saved at most, on its grid", "not known" if gap is None else percent_text(gap)),
        ("pieces short", f"{sum(short.pieces for short in plan.shorts):,}"),
        ("pieces cooked", f"{sum(load.pieces for load in plan.loads):,}"),
        ("wages", money_text(cost.wages)),
        ("wood", money_text(cost.wood)),
    )


def _breaches(kept: KeptPlan) -> tuple[BreachLine, ...]:
    if not kept.breaches:
        return ()
    found = audit(kept.plan, kept.scenario, kept.past)
    return tuple(BreachLine(b.code.replace("-", " "), degrees_text(b.sentence), b.loads) for b in found)


def plan_page(
    kitchen: Kitchen,
    kept: KeptPlan,
    lead: bool,
    how: str,
    *,
    chosen: str = "",
    mistakes: tuple[tuple[str, str], ...] = (),
) -> PlanPage:
    """The context of a plan's page."""
    desk = kitchen.desk(kept.number)
    loads = sorted(kept.plan.loads, key=lambda load: (load.load_at, load.code))
    helps = [f"{relief.change}: {_relief(relief.pieces, relief.cents)}" for relief in kept.plan.reliefs]
    by = f" by {kept.made_by}" if kept.made_by else ""
    return PlanPage(
        number=kept.number,
        how=how,
        made=kitchen.moment(kept.made_at, kept.scenario) + by,
        in_force=number_in_force(kitchen.database) == kept.number,
        may_use=(lead or kept.kind == "reshuffled") and not kept.breaches,
        may_move=lead and kept.past is None,
        parent=kept.parent,
        figures=_figures(kept),
        breaches=_breaches(kept),
        shorts=tuple(
            f"{pieces_text(s.pieces, s.cut)} for {wave_text(s.wave, kept.plan.clock)}: {s.why}"
            for s in kept.plan.shorts
        ),
        helps=tuple(helps),
        charts=_charts(desk),
        loads=tuple(_choice(desk, load, kept.pins) for load in loads),
        racks=racks_of(desk),
        pins=kept.pins,
        chosen=chosen,
        mistakes=mistakes,
        grid_min=kept.plan.certificate.grid_min,
    )


def _relief(pieces: int, cents: int) -> str:
    less = f"{count_text(pieces, 'piece')} less short, " if pieces > 0 else ""
    return f"{less}{money_text(cents)} saved"
