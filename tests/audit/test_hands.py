"""The work on loads, waves and at the counter."""

from __future__ import annotations

from audit_kitchen import Kitchen, ana, ben, cal, kitchen, t


def test_task_loads_forbidden() -> None:
    both = kitchen().task("load", 0, loads=("BR01", "BR02"))
    assert both.codes() == {"task-loads", "load-task"}
    assert both.the("task-loads").sentence == "The load task of Ana on Sat at 2:05 am must name exactly one load."
    assert "task-loads" in kitchen().task("slice", 0, loads=()).codes()
    assert "task-loads" in kitchen().task("pull", 0, loads=()).codes()


def test_task_loads_allowed() -> None:
    assert kitchen().task("pull", 2, loads=("CH01",)).task("counter", 0, loads=()).codes() == set()


def test_load_task_forbidden() -> None:
    assert kitchen().drop_task("load", 0).codes() == {"load-task"}
    assert kitchen().task("load", 0, at=t("2:08")).codes() == {"load-task", "task-overlap"}
    assert kitchen().task("load", 0, pieces=2).codes() == {"load-task"}
    # 3 x 2.5 = 7.5 minutes, rounded up.
    assert kitchen().task("load", 0, minutes=7).the("load-task").sentence == (
        "Loading BR01 takes 8 hand-minutes, but tasks give it 7 in its step."
    )


def test_load_task_allowed() -> None:
    assert kitchen().task("load", 0, at=t("2:07")).codes() == set()
    shared = kitchen().task("load", 2, pieces=3, minutes=1).add_tasks(ana("load", "7:44", 1, "CH01", pieces=1))
    assert shared.codes() == set()


def test_wrap_task_forbidden() -> None:
    assert kitchen().drop_task("wrap", 1).codes() == {"wrap-task"}
    assert kitchen().task("wrap", 0, minutes=7).codes() == {"wrap-task"}
    assert kitchen().task("wrap", 1, pieces=0).codes() == {"wrap-task"}
    assert kitchen().task("wrap", 1, at=t("5:44")).the("wrap-task").sentence == (
        "Wrapping BR02 is given to Ana Sat 5:44 to 5:47 am, but must be done Sat 5:45 to 6:00 am."
    )


def test_wrap_task_allowed() -> None:
    assert kitchen().task("wrap", 1, at=t("5:57")).codes() == set()


def _wrapping_together() -> Kitchen:
    """Half of BR01 is wrapped by a second person at the same time."""
    return (
        kitchen()
        .person("Ben", skills=("fire", "pit", "slice", "wrap"))
        .pattern("day", starts=t("5:00").time(), length_min=570)
        .shift("S2", starts_at=t("5:00"), ends_at=t("14:30"))
        .task("wrap", 0, minutes=5, pieces=2)
        .add_tasks(ben("wrap", "5:32", 3, "BR01", pieces=1))
    )


def test_wrap_tables_forbidden() -> None:
    found = _wrapping_together()
    assert found.codes() == {"wrap-tables"}
    assert found.the("wrap-tables").sentence == (
        "Ana and Ben are to wrap at once Sat 5:32 to 5:35 am, but the kitchen has 1 wrap table."
    )


def test_wrap_tables_allowed() -> None:
    assert _wrapping_together().site(wrap_tables=2).codes() == set()
    assert _wrapping_together().task("wrap", 2, at=t("5:35")).codes() == set()


def test_pull_rounds_forbidden() -> None:
    assert kitchen().drop_task("pull", 2).codes() == {"pull-rounds"}
    # BR01 may be done 7:00 to 8:30: first round by 8:00, last from 7:30, no gap over an hour.
    assert kitchen().task("pull", 0, at=t("7:14")).codes() == {"pull-rounds"}
    early = kitchen().task("pull", 2, at=t("8:34"))
    assert early.codes() == {"pull-rounds"}
    late = kitchen().task("pull", 2, at=t("9:46"))
    assert late.codes() == {"pull-rounds"}
    assert late.the("pull-rounds").sentence == (
        "Load CH01 is probed on Sat at 9:46 am, but may be done only Sat 8:50 to 9:30 am."
    )
    lonely = kitchen().drop_task("pull", 0).task("pull", 0, at=t("8:01"))
    assert {breach.sentence for breach in lonely.breaches()} == {
        "Load BR01 may be done Sat 7:00 to 8:30 am, but is not probed Sat 7:00 to 8:01 am; an hour is the longest gap."
    }


def test_pull_rounds_allowed() -> None:
    for clock in ("8:35", "9:45"):
        assert kitchen().task("pull", 2, at=t(clock)).codes() == set()
    # One round an hour after the first and an hour before the last moment will do for a window of two hours.
    assert kitchen().drop_task("pull", 0).task("pull", 0, at=t("8:00")).codes() == set()


def test_pull_cover_forbidden() -> None:
    # Ben comes too late for the first moment at which BR01 may be done, and Ana is not there.
    gone = kitchen().person("Ana", skills=("fire", "wrap"))
    assert "pull-cover" not in gone.codes()
    found = gone.shift("S2", starts_at=t("7:01")).the("pull-cover")
    assert found.at == t("7:00")
    assert found.sentence == (
        "Load BR01 may be done Sat 7:00 to 8:30 am, but on Sat at 7:00 am nobody on shift can pull it."
    )


def test_pull_cover_of_a_load_whose_time_is_sure() -> None:
    # Done at 9:00 to the minute: somebody is needed at that moment only.
    sure = kitchen().load("CH01", early_done_at=t("9:00"), likely_done_at=t("9:00"), late_done_at=t("9:00"))
    nobody = sure.shift("S1", ends_at=t("8:59")).shift("S2", starts_at=t("9:01"))
    assert ("CH01",) in {breach.loads for breach in nobody.breaches() if breach.code == "pull-cover"}
    met = sure.shift("S1", ends_at=t("9:00")).shift("S2", starts_at=t("9:01"))
    assert ("CH01",) not in {breach.loads for breach in met.breaches() if breach.code == "pull-cover"}


def test_pull_cover_allowed() -> None:
    # One leaves at the moment when the other comes.
    met = kitchen().shift("S1", ends_at=t("7:30")).shift("S2", starts_at=t("7:30"))
    assert "pull-cover" not in met.codes()
    parted = kitchen().shift("S1", ends_at=t("7:29")).shift("S2", starts_at=t("7:30"))
    assert "pull-cover" in parted.codes()


def test_slice_task_forbidden() -> None:
    # 3 x 5 = 15 minutes, less one for rounding.
    assert kitchen().task("slice", 0, minutes=13).codes() == {"slice-task"}
    assert kitchen().task("slice", 0, minutes=13).the("slice-task").sentence == (
        "Slicing brisket for Sat 11:00 takes 15 hand-minutes, but tasks give it 13."
    )
    assert kitchen().task("slice", 2, at=t("12:26")).codes() == {"slice-task"}
    assert kitchen().task("slice", 0, loads=("BR01", "CH01")).codes() == {"slice-task"}
    early = kitchen().task("slice", 0, at=t("10:59"))
    assert early.codes() == {"slice-task"}
    assert early.breaches()[0].sentence == (
        "The slice task of Ben on Sat at 10:59 am is outside the serving of brisket Sat 11:00, Sat 11:00 am to 2:00 pm."
    )


def test_slice_task_allowed() -> None:
    assert kitchen().task("slice", 0, minutes=14).codes() == set()
    assert kitchen().task("slice", 2, at=t("12:25")).codes() == set()
    assert kitchen().hands("chicken", slice_min=0).drop_task("slice", 1).codes() == set()


def test_cutting_boards_forbidden() -> None:
    # Cal slices for Ben while Ben does.
    both = kitchen().counter_hands(0).drop_task("counter", 0).add_tasks(cal("slice", "11:10", 10, "BR01"))
    assert both.codes() == {"cutting-boards"}
    assert both.the("cutting-boards").at == t("11:10")


def test_cutting_boards_allowed() -> None:
    after = kitchen().counter_hands(0).drop_task("counter", 0).add_tasks(cal("slice", "11:24", 10, "BR01"))
    assert after.codes() == set()
    assert after.task("slice", 3, at=t("11:10")).site(cutting_boards=2).codes() == set()


def test_counter_hands_forbidden() -> None:
    assert kitchen().drop_task("counter", 0).codes() == {"counter-hands"}
    late = kitchen().task("counter", 0, at=t("11:01"), minutes=179)
    assert late.codes() == {"counter-hands"}
    assert late.the("counter-hands").sentence == (
        "The counter needs 1 person from opening to closing, but has fewer Sat 11:00 to 11:01 am."
    )
    assert "counter-hands" in kitchen().counter_hands(2).codes()


def test_counter_hands_allowed() -> None:
    # In two turns, one after the other.
    turns = kitchen().task("counter", 0, minutes=60).add_tasks(cal("counter", "12:00", 120))
    assert turns.codes() == set()
