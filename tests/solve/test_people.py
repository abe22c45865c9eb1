"""Who does what: all work of a step is given to people who are there and may do it, one thing after another."""

from __future__ import annotations

from dataclasses import replace

import pytest
from audit_kitchen import Kitchen, kitchen
from solve_kitchen import grid_of, hand_made, plan_of

from scheduler.model.crew import TaskKind
from scheduler.model.plan import Shift, Task
from scheduler.solve.grid import Grid
from scheduler.solve.people import OnShift, share_out
from scheduler.solve.work import Work

STEP = 44
"""11:00 am, when the day and the service shift are there."""


def crew_of(grid: Grid, *shifts: tuple[str, str]) -> list[OnShift]:
    """People in shifts, with the codes S1, S2 and so on."""
    at = grid.scenario.weekend.timeline.moment
    found = []
    for person, pattern in shifts:
        (option,) = (o for o in grid.shifts if (o.person.name, o.pattern.name) == (person, pattern))
        code = f"S{len(found) + 1}"
        times = {"starts_at": at(option.start_min), "ends_at": at(option.end_min)}
        found.append(OnShift(option, Shift(code=code, person=person, pattern=pattern, **times)))
    return found


ALL = (("Ana", "day"), ("Ben", "day"), ("Cal", "service"))


def shared(*todo: Work, of: Kitchen | None = None, shifts: tuple[tuple[str, str], ...] = ALL) -> list[Task] | None:
    """Tasks of one step; None if its work could not be shared out."""
    grid = grid_of(of)
    work: list[list[Work]] = [[] for _ in range(grid.steps)]
    for item in todo:
        work[item.step].append(item)
    sheet = share_out(grid, work, crew_of(grid, *shifts))
    return None if sheet.overfull else list(sheet.tasks)


def loading(pieces: int, each: float = 1.0, kind: TaskKind = "load") -> Work:
    return Work(STEP, kind, max(1, round(pieces * each + 0.49)), ("BR01",), pieces, each)


def slicing(minutes: int, after: int = 0, before: int | None = None, loads: tuple[str, ...] = ("BR01",)) -> Work:
    return Work(STEP, "slice", minutes, loads, after=after, before=before)


def minute(task: Task) -> int:
    """Minutes into the step."""
    return grid_of().minute(task.at) - STEP * 15


def test_a_lone_pair_of_hands_does_all_it_can() -> None:
    tasks = shared(loading(5), Work(STEP, "tend", 5, place="oak"), shifts=(("Ana", "day"),))
    assert tasks is not None
    assert [(t.kind, t.minutes, t.person, minute(t)) for t in tasks] == [("tend", 5, "Ana", 0), ("load", 5, "Ana", 5)]
    assert tasks[0].place == "oak"
    assert (tasks[1].loads, tasks[1].pieces, tasks[1].shift) == (("BR01",), 5, "S1")


def test_one_person_has_only_fifteen_minutes() -> None:
    assert shared(loading(15), shifts=(("Ana", "day"),)) is not None
    assert shared(loading(16), shifts=(("Ana", "day"),)) is None
    assert shared(loading(8), loading(8), shifts=(("Ana", "day"),)) is None


def test_pieces_are_shared_out_whole() -> None:
    tasks = shared(loading(25))
    assert tasks is not None
    assert {t.person for t in tasks} == {"Ana", "Ben"}, "Cal has no skill for the pit"
    assert sum(t.pieces for t in tasks) == 25
    assert all(t.minutes >= t.pieces for t in tasks)
    assert shared(loading(31)) is None


def test_a_piece_is_not_cut_in_two() -> None:
    assert shared(loading(2, 10.0)) is not None
    assert shared(loading(3, 10.0)) is None, (
        "30 minutes of two people, but each can only do one of 10 whole, and a half"
    )


def test_whole_work_is_done_by_one() -> None:
    tasks = shared(Work(STEP, "tend", 10, place="oak"), Work(STEP, "tend", 10, place="hickory"))
    assert tasks is not None
    assert sorted((t.place, t.minutes) for t in tasks) == [("hickory", 10), ("oak", 10)]
    assert len({t.person for t in tasks}) == 2
    assert shared(Work(STEP, "light", 16, place="oak")) is None


def test_nobody_does_what_they_cannot() -> None:
    assert shared(Work(STEP, "counter", 15), shifts=(("Ana", "day"), ("Ben", "day"))) is None
    assert shared(Work(STEP, "tend", 5, place="oak"), shifts=(("Cal", "service"),)) is None
    young = kitchen().person("Cal", birth_years=(2009, 2010)).site(power_slicer=True)
    assert shared(slicing(5), of=young, shifts=(("Cal", "service"),)) is None, "29 CFR 570.61"


def test_nobody_works_before_their_shift_or_after_it() -> None:
    assert shared(loading(1), shifts=(("Ana", "night"),)) is None
    later = kitchen().pattern(
        "service", starts=kitchen().scenario.crew.pattern("service").starts.replace(hour=11, minute=5)
    )
    assert shared(Work(STEP, "counter", 15), of=later) is None, "11:05 is inside the step"


def test_the_counter_takes_a_person_whole() -> None:
    two = shared(Work(STEP, "counter", 15), slicing(15))
    assert two is not None
    assert {t.kind: t.person for t in two} == {"counter": "Cal", "slice": "Ben"}
    assert shared(Work(STEP, "counter", 15), slicing(16)) is None


def test_no_more_people_at_a_station_than_there_are() -> None:
    of = kitchen().person("Ben", skills=("fire", "pit", "wrap", "slice"))
    assert shared(loading(20, kind="wrap"), of=of) is None
    assert shared(loading(20, kind="wrap"), of=of.site(wrap_tables=2)) is not None
    assert shared(slicing(20)) is None
    assert shared(slicing(20), of=kitchen().site(cutting_boards=2)) is not None


def test_pressing_things_come_first() -> None:
    kinds: tuple[TaskKind, ...] = ("pull", "load", "light", "tend")
    todo = [Work(STEP, kind, 3, ("BR01",), place="oak" if kind in ("light", "tend") else "") for kind in kinds]
    tasks = shared(*todo, shifts=(("Ana", "day"),))
    assert tasks is not None
    assert [t.kind for t in tasks] == ["tend", "light", "load", "pull"]
    assert [minute(t) for t in tasks] == [0, 3, 6, 9]


def test_a_wave_that_starts_inside_the_step_is_sliced_after_its_start() -> None:
    tasks = shared(slicing(5, after=10), loading(10), shifts=(("Ben", "day"),))
    assert tasks is not None
    assert [(t.kind, minute(t)) for t in tasks] == [("load", 0), ("slice", 10)]
    alone = shared(slicing(3, after=10), shifts=(("Ben", "day"),))
    assert alone is not None
    assert [minute(t) for t in alone] == [10]
    assert shared(slicing(6, after=10), shifts=(("Ben", "day"),)) is None


def test_a_serving_that_ends_inside_the_step_is_sliced_before_its_end() -> None:
    tasks = shared(slicing(5, before=5), Work(STEP, "tend", 5, place="oak"), shifts=(("Ben", "day"),))
    assert tasks is not None
    assert [(t.kind, minute(t)) for t in tasks] == [("slice", 0), ("tend", 5)]
    assert shared(slicing(6, before=5), shifts=(("Ben", "day"),)) is None
    assert shared(slicing(3, before=5), slicing(3, before=5, loads=("CH01",)), shifts=(("Ben", "day"),)) is None


def test_a_serving_inside_the_step_is_sliced_inside_it() -> None:
    tasks = shared(slicing(4, after=5, before=10), loading(6), shifts=(("Ben", "day"),))
    assert tasks is not None
    (cut,) = (t for t in tasks if t.kind == "slice")
    assert 5 <= minute(cut) <= minute(cut) + cut.minutes <= 10
    ends = sorted((minute(t), minute(t) + t.minutes) for t in tasks)
    assert ends[0][1] <= ends[1][0] <= ends[1][1] <= 15
    assert shared(slicing(6, after=5, before=10), shifts=(("Ben", "day"),)) is None


def test_work_at_the_counter_that_goes_on_is_one_task() -> None:
    tasks = shared(*(Work(step, "counter", 15) for step in (44, 45, 46, 48)))
    assert tasks is not None
    assert [(t.minutes, minute(t)) for t in tasks] == [(45, 0), (15, 60)]


def test_people_go_on_with_what_they_are_at() -> None:
    everyone = ("fire", "pit", "wrap", "slice", "counter")
    of = kitchen().person("Ana", skills=everyone).person("Ben", skills=everyone)
    tasks = shared(*(Work(step, "counter", 15) for step in range(44, 52)), of=of)
    assert tasks is not None
    assert [(t.person, t.minutes) for t in tasks] == [("Cal", 120)], "who can do least else"


def test_overfull_steps_are_named_and_the_others_done() -> None:
    grid = grid_of()
    work: list[list[Work]] = [[] for _ in range(grid.steps)]
    work[44], work[45] = [loading(31)], [replace(loading(1), step=45)]
    sheet = share_out(grid, work, crew_of(grid, *ALL))
    assert sheet.overfull == (44,)
    assert [(t.kind, t.pieces) for t in sheet.tasks] == [("load", 1)]


@pytest.mark.parametrize("kind", ["load", "wrap"])
def test_the_hand_made_plan_is_shared_out_in_full(kind: TaskKind) -> None:
    plan = plan_of(hand_made(grid_of()))
    for load in plan.loads:
        mine = [t for t in plan.tasks if t.kind == kind and t.loads == (load.code,)]
        assert sum(t.pieces for t in mine) == (load.pieces if kind == "load" or load.wrap_at else 0)
