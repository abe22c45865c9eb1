"""Plans by number, and two of them side by side."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from scheduler.report.words import count_text, money_text, percent_text
from web.differences import differences
from web.door import Crew, Number
from web.plan_differences import plan_differences
from web.show import kitchen_of, page
from web.store.jobs import OPEN, jobs_in
from web.store.plans import KeptPlan, number_in_force, plan_lines

router = APIRouter()

KINDS = {
    "searched": "planned from nothing",
    "moved": "a load moved by hand",
    "replanned": "planned around pins",
    "reshuffled": "reshuffled on the way",
}


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A plan in the list."""

    number: int
    made: str
    how: str
    breaches: int
    in_force: bool


@dataclass(frozen=True, slots=True)
class PlansPage:
    """Context of the list."""

    rows: tuple[PlanRow, ...]
    searches: tuple[tuple[int, str], ...]
    broken_off: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ComparePage:
    """Context of the comparison."""

    left: int
    right: int
    rows: tuple[tuple[str, str, str], ...]
    loads: tuple[str, ...]
    asked: tuple[str, ...]
    """What differs in the weekends that they were made for."""


@router.get("/plans")
def plans(request: Request, who: Crew) -> HTMLResponse:
    """The list, newest first."""
    kitchen = kitchen_of(request)
    scenario, current = kitchen.weekend().scenario, number_in_force(kitchen.database)
    rows = []
    for line in plan_lines(kitchen.database):
        made = kitchen.moment(line.made_at, scenario) + (f" by {line.made_by}" if line.made_by else "")
        how = ", ".join(part for part in (KINDS[line.kind], line.note) if part)
        rows.append(PlanRow(line.number, made, how, line.breaches, line.number == current))
    searches = tuple((job.id, job.state) for job in jobs_in(kitchen.database, *OPEN))
    ended = [job.id for job in jobs_in(kitchen.database, "broken off", "done", "failed")]
    broken = tuple(job.id for job in jobs_in(kitchen.database, "broken off") if job.id == ended[-1])
    return page(request, who, "Plans", "plans.html", PlansPage(tuple(rows), searches, broken))


@router.get("/compare")
def compare(request: Request, who: Crew, left: Number, right: Number) -> HTMLResponse:
    """Two plans side by side."""
    kitchen = kitchen_of(request)
    one, other = kitchen.plan(left), kitchen.plan(right)
    context = ComparePage(
        left,
        right,
        tuple(zip((name for name, _ in _figures(one)), _values(one), _values(other), strict=True)),
        tuple(plan_differences(kitchen.desk(left), kitchen.desk(right))),
        differences(one.scenario, other.scenario),
    )
    return page(request, who, f"Plan {left} and plan {right}", "compare.html", context)


def _values(kept: KeptPlan) -> list[str]:
    return [value for _, value in _figures(kept)]


def _figures(kept: KeptPlan) -> list[tuple[str, str]]:
    plan, cost = kept.plan, kept.plan.cost
    gap = plan.certificate.gap
    return [
        ("Cost", money_text(cost.total)),
        ("of it margin lost on shorts", money_text(cost.shorts)),
        ("wages", money_text(cost.wages)),
        ("wood", money_text(cost.wood)),
        ("quality lost in the hold", money_text(cost.hold)),
        ("moves", money_text(cost.moves)),
        ("No plan costs less than", "not known" if gap is None else percent_text(gap) + " below it"),
        ("Pieces cooked", f"{sum(load.pieces for load in plan.loads):,}"),
        ("Pieces short", f"{sum(short.pieces for short in plan.shorts):,}"),
        ("Loads", str(len(plan.loads))),
        ("Shifts", str(len(plan.shifts))),
        ("Fires", count_text(len(plan.fires), "burn")),
        ("Rules broken", str(kept.breaches)),
    ]
