"""A plan as text for the terminal: what is ready when, loads, fires, shifts, shorts, how sure, cautions."""

from __future__ import annotations

from collections import Counter

from rich.console import Console

from scheduler.cli.tables import print_table, terminal
from scheduler.model.crew import TaskKind
from scheduler.model.plan import Load, Plan, Shift
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import minutes_text
from scheduler.report.desk import Desk
from scheduler.report.opening import Opening, opening
from scheduler.report.words import rack_text, shift_text

TASK_WORDS: dict[TaskKind, str] = {
    "light": "lighting",
    "tend": "tending",
    "clean": "cleaning out",
    "load": "loading",
    "wrap": "wrapping",
    "pull": "probing and pulling",
    "move": "moving",
    "slice": "slicing",
    "counter": "counter",
}


def show_plan(plan: Plan, scenario: Scenario, console: Console | None = None) -> None:
    """Print a plan."""
    out = console or terminal()
    desk = Desk(plan, scenario)
    page = opening(desk)
    _head(out, page, desk)
    _ready(out, page)
    _shorts(out, page)
    _loads(out, desk)
    _fires(out, desk)
    _shifts(out, desk)
    _money(out, page)
    _sure(out, page)
    _cautions(out, page)


def _head(out: Console, page: Opening, desk: Desk) -> None:
    out.print(f"{page.title}, {desk.scenario.site.name}", style="bold")
    out.print(f"{page.when}. {page.plan_line}.")
    if page.invented:
        out.print("Invented demo data.")
    figures = [f"{figure} {label}" if figure[:1].isdigit() else f"{label} {figure}" for figure, label in page.figures]
    out.print("; ".join(figures) + ".")
    if page.clock_change:
        out.print(page.clock_change)


def _title(out: Console, text: str) -> None:
    out.print()
    out.print(text, style="bold")


def _ready(out: Console, page: Opening) -> None:
    for day in page.days:
        _title(out, f"Ready on {day.title}. {day.hours}".rstrip(". ") + ".")
        rows = []
        for line in day.lines:
            order = f" (order {line.order})" if line.order else ""
            short = f"{line.short} short" if line.short else ""
            rows.append((line.when, f"{line.pieces:,}", line.what + order, line.until, short, " ".join(line.loads)))
        print_table(out, ("Ready by", "Pieces", "Of", "Served until", "Short", "Loads"), rows, {"Pieces"})


def _shorts(out: Console, page: Opening) -> None:
    _title(out, "Short")
    if not page.shorts:
        out.print("Nothing is short.")
    for short in page.shorts:
        out.print(f"{short.what} for {short.wave}. {short.why}")
    for relief in page.reliefs:
        out.print(f"What one more would give: {relief}")


def _loads(out: Console, desk: Desk) -> None:
    for smoker in desk.scenario.site.smokers:
        loads = sorted((x for x in desk.plan.loads if x.smoker == smoker.name), key=lambda x: (x.load_at, x.code))
        if not loads:
            continue
        _title(out, f"Loads on the {desk.smoker_words(smoker.name)}")
        heads = (
            "Load",
            "At",
            "Rack",
            "Pieces",
            "Wrap",
            "May be wrapped",
            "Finish",
            "Done, early to late",
            "Rest",
            "Hold",
        )
        print_table(out, heads, (_load_row(desk, load) for load in loads))


def _load_row(desk: Desk, load: Load) -> tuple[str, ...]:
    wrap = desk.wrap_words(load)
    if load.wrap_at is not None:
        wrap = f"{desk.near(load.wrap_at, load.load_at)} {wrap}"
    same = (load.finish_place, load.finish_rack) == (load.smoker, load.rack)
    rest_min = desk.cut(load).rest_min
    return (
        load.code,
        desk.moment(load.load_at),
        rack_text(load.rack),
        desk.pieces(load),
        wrap,
        desk.wrap_span(load),
        "same rack" if same else desk.finish_place(load),
        desk.day_span(load.early_done_at, load.late_done_at),
        f"{minutes_text(rest_min)}{f', {load.rest_place}' if load.rest_place else ''}" if rest_min else "",
        load.hold_place or "",
    )


def _fires(out: Console, desk: Desk) -> None:
    _title(out, "Fires")
    rows = []
    for fire in sorted(desk.plan.fires, key=lambda fire: (fire.lit_at, fire.firebox)):
        first, *changes = fire.setpoints
        later = [f"{s.setpoint_f} °F from {desk.moment(s.from_at)}" for s in changes]
        heat = ", ".join([f"{first.setpoint_f} °F", *later])
        times = (desk.moment(fire.lit_at), desk.moment(fire.ready_at), desk.moment(fire.out_at))
        rows.append((fire.firebox, ", ".join(desk.smokers_of(fire.firebox)), *times, heat))
    print_table(out, ("Firebox", "Smokers", "Light", "Ready", "Out", "Setpoint"), rows)


def _shifts(out: Console, desk: Desk) -> None:
    _title(out, "Shifts")
    rows = []
    for shift in sorted(desk.plan.shifts, key=lambda shift: (shift.starts_at, shift.person)):
        who = f"{shift.person} (under 18)" if desk.minor(shift) else shift.person
        when = desk.day_span(shift.starts_at, shift.ends_at)
        rows.append((shift.code, who, shift_text(shift.pattern), when, _work_words(desk, shift)))
    print_table(out, ("Shift", "Who", "Pattern", "When", "Minutes of work"), rows)


def _work_words(desk: Desk, shift: Shift) -> str:
    minutes: Counter[TaskKind] = Counter()
    for task in desk.plan.tasks:
        if task.shift == shift.code:
            minutes[task.kind] += task.minutes
    return ", ".join(f"{TASK_WORDS[kind]} {minutes[kind]}" for kind in TASK_WORDS if minutes[kind])


def _money(out: Console, page: Opening) -> None:
    _title(out, "Cost")
    rows = [(line.name, line.amount, line.note) for line in page.money]
    print_table(out, ("Part", "Amount", "Of"), [*rows, ("Total", page.total, "")], {"Amount"})
    out.print(page.how_good)


def _sure(out: Console, page: Opening) -> None:
    _title(out, "How sure")
    for line in page.how_sure:
        out.print(line)


def _cautions(out: Console, page: Opening) -> None:
    _title(out, "Cautions")
    for group in page.cautions:
        out.print(f"{group.topic.capitalize()}: {' '.join(group.sentences)} {group.defer}")
