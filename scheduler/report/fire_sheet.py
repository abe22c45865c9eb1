"""The fire sheet: each burn with its setpoints, and its tending rounds to tick off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model.clock import elapsed_min
from scheduler.model.plan import Fire, Task
from scheduler.model.weekend import minutes_text
from scheduler.report.desk import Desk
from scheduler.report.words import day_text, list_text, unique
from scheduler.trade.cautions import SHORT, topics_for_task


@dataclass(frozen=True, slots=True)
class Round:
    """One tending round."""

    day: str
    """The day's name on the first round of a day, else empty."""
    when: str
    who: str
    setpoint: str


@dataclass(frozen=True, slots=True)
class Step:
    """Something that a burn does at a time."""

    when: str
    what: str


@dataclass(frozen=True, slots=True)
class Burn:
    """One firebox from lighting to out."""

    title: str
    when: str
    facts: str
    steps: tuple[Step, ...]
    rounds: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class FireSheet:
    """Context of the fire sheet."""

    anchor: str
    title: str
    cautions: tuple[str, ...]
    burns: tuple[Burn, ...]


def _rounds(desk: Desk, fire: Fire) -> tuple[Round, ...]:
    """Tending tasks of a burn, those of one grid step as one round."""
    together: dict[int, list[Task]] = {}
    for task in desk.plan.tasks:
        if task.kind == "tend" and task.place == fire.firebox and fire.lit_at <= task.at < fire.out_at:
            together.setdefault(desk.step(task.at), []).append(task)
    found: list[Round] = []
    day = desk.local(fire.lit_at).date()
    for step in sorted(together):
        tasks = sorted(together[step], key=lambda t: t.at)
        at = tasks[0].at
        today = desk.local(at).date()
        new_day = day_text(today) if today != day or not found else ""
        day = today
        who = list_text(unique(task.person for task in tasks))
        found.append(Round(new_day, desk.clock(at), who, f"{desk.setpoint_at(fire, at)} °F"))
    return tuple(found)


def _who(desk: Desk, fire: Fire) -> str:
    lighters = [
        t for t in desk.plan.tasks if t.kind == "light" and t.place == fire.firebox and _near(desk, t, fire.lit_at)
    ]
    return list_text(unique(task.person for task in lighters))


def _near(desk: Desk, task: Task, moment: datetime) -> bool:
    return 0 <= elapsed_min(moment, task.at) <= desk.plan.certificate.grid_min


def _steps(desk: Desk, fire: Fire) -> tuple[Step, ...]:
    who = _who(desk, fire)
    steps = [Step(desk.moment(fire.lit_at), f"Light{f' ({who})' if who else ''}")]
    steps.append(Step(desk.moment(fire.ready_at), f"Ready, {fire.setpoints[0].setpoint_f} °F: check before loading"))
    change = desk.scenario.site.firebox(fire.firebox).setpoint_change_min
    for setpoint in fire.setpoints[1:]:
        words = f"At {setpoint.setpoint_f} °F; start to change {minutes_text(change)} before"
        steps.append(Step(desk.moment(setpoint.from_at), words))
    steps.append(Step(desk.moment(fire.out_at), "May go out"))
    return tuple(steps)


def _burn(desk: Desk, fire: Fire) -> Burn:
    box = desk.scenario.site.firebox(fire.firebox)
    length_min = elapsed_min(fire.lit_at, fire.out_at)
    wood = f"{round(box.wood_lb_per_h * length_min / 60):,}"
    feeds = list_text([desk.smoker_words(name) for name in desk.smokers_of(fire.firebox)])
    return Burn(
        title=desk.fire_words(fire.firebox),
        when=desk.day_span(fire.lit_at, fire.out_at),
        facts=f"Feeds {feeds}. Burns {minutes_text(length_min)}, about {wood} lb of wood. "
        f"A round every {minutes_text(box.tend_every_min)}.",
        steps=_steps(desk, fire),
        rounds=_rounds(desk, fire),
    )


def fire_sheet(desk: Desk) -> FireSheet | None:
    """The sheet of all burns by start; None if nothing burns."""
    fires = sorted(desk.plan.fires, key=lambda f: (f.lit_at, f.firebox))
    told = tuple(SHORT[topic] for topic in topics_for_task("tend"))
    return FireSheet("fires", "Fires", told, tuple(_burn(desk, fire) for fire in fires)) if fires else None
