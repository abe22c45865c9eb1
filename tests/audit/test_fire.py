"""Fire: warm, lit long enough, cleaned out, watched, tended."""

from __future__ import annotations

from audit_kitchen import Kitchen, ana, ben, kitchen, t

from scheduler.model.plan import Shift


def test_warm_up_forbidden() -> None:
    assert kitchen().firebox("oak", warm_up_min=61).codes() == {"warm-up"}
    assert kitchen().firebox("oak", warm_up_min=59).the("warm-up").sentence == (
        "oak is lit on Sat at 1:00 am and warms up for 59 min, so it is ready at 1:59 am, not at 2:00 am."
    )
    assert "warm-up" in kitchen().fire(out_at=t("1:59")).codes()


def test_warm_up_allowed() -> None:
    assert kitchen().firebox("oak", warm_up_min=60).codes() == set()
    assert "warm-up" not in kitchen().fire(out_at=t("2:00")).codes()


def test_load_without_fire_forbidden() -> None:
    early = kitchen().fire(out_at=t("9:29"))
    assert early.codes() == {"load-without-fire"}
    assert early.the("load-without-fire").loads == ("CH01",)
    late = kitchen().load("BR01", load_at=t("1:59"))
    assert "load-without-fire" in late.codes()
    assert "load-without-fire" in kitchen().with_plan(fires=()).codes()


def test_load_without_fire_allowed() -> None:
    # Out with the last late pull; the tending round due at 9:00 is still done.
    assert kitchen().fire(out_at=t("9:30")).codes() == set()


def test_load_without_fire_needs_one_burn_for_the_whole_stay() -> None:
    split = kitchen().fire(out_at=t("4:00")).add_fire("oak", "3:00", "10:00")
    assert "load-without-fire" in split.codes()


def _again(lit: str, *cleaning: tuple[str, int]) -> Kitchen:
    """Oak is lit a second time, and Ben lights, cleans and tends it."""
    hours = ("11:45", "12:45", "13:45")
    return (
        kitchen()
        .add_fire("oak", lit, "14:00")
        .add_tasks(
            ben("light", lit, 10, place="oak"),
            *(ben("clean", at, minutes, place="oak") for at, minutes in cleaning),
            *(ben("tend", hour, 5, place="oak") for hour in hours if hour > lit),
        )
    )


def test_clean_out_time_forbidden() -> None:
    found = _again("10:59", ("10:00", 59))
    assert "clean-out-time" in found.codes()
    assert found.the("clean-out-time").sentence == (
        "oak is lit again on Sat at 10:59 am; it goes out at 10:00 am and needs 1 h to be cleaned out."
    )
    assert "clean-out-time" in kitchen().add_fire("oak", "9:00", "14:00").codes()


def test_clean_out_time_allowed() -> None:
    assert "clean-out-time" not in _again("11:00").codes()
    assert "clean-out-time" not in kitchen().add_fire("hickory", "10:00", "14:00").codes()


def _two_people_cleaning() -> Kitchen:
    """Two clean out oak, 40 minutes in all, between 9:30 and its second lighting at 10:30."""
    return (
        kitchen()
        .fire(out_at=t("9:30"))
        .firebox("oak", clean_out_min=40)
        .add_fire("oak", "10:30", "14:00")
        .add_tasks(
            ben("light", "10:30", 10, place="oak"),
            ben("clean", "9:30", 30, place="oak"),
            ana("clean", "9:40", 10, place="oak"),
            *(ben("tend", hour, 5, place="oak") for hour in ("11:30", "12:30", "13:30")),
        )
    )


def test_clean_task_forbidden() -> None:
    found = _two_people_cleaning()
    assert found.drop_task("clean", 1).codes() == {"clean-task"}
    assert found.task("clean", 1, at=t("9:29")).codes() == {"clean-task"}
    assert found.drop_task("clean", 1).the("clean-task").sentence == (
        "Cleaning out oak before it is lit on Sat at 10:30 am takes 40 hand-minutes, but tasks give it 30."
    )


def test_clean_task_allowed() -> None:
    assert _two_people_cleaning().codes() == set()


def test_fire_unwatched_forbidden() -> None:
    # Ana's shift starts after the lighting.
    late = kitchen().shift("S1", starts_at=t("1:15"))
    assert "fire-unwatched" in late.codes()
    assert late.the("fire-unwatched").at == t("1:00")
    one_each = kitchen().crew(fires_per_person=1).add_fire("hickory", "3:00", "5:00")
    found = one_each.the("fire-unwatched")
    assert found.sentence == (
        "2 fires (oak, hickory) lit Sat 3:00 to 5:00 am, with too few people on shift to tend; one person tends 1."
    )


def test_fire_unwatched_allowed() -> None:
    two_each = kitchen().add_fire("hickory", "3:00", "5:00")
    assert "fire-unwatched" not in two_each.codes()
    # From 6:00 Ben is there too.
    assert "fire-unwatched" not in kitchen().crew(fires_per_person=1).add_fire("hickory", "6:00", "8:00").codes()


def test_fire_unwatched_counts_nobody_without_the_skill() -> None:
    extra = Shift(code="S4", person="Cal", pattern="night", starts_at=t("0:30"), ends_at=t("10:30"))
    found = kitchen().crew(fires_per_person=1).add_fire("hickory", "3:00", "5:00").add_shift(extra)
    assert "fire-unwatched" in found.codes()


def test_light_task_forbidden() -> None:
    assert kitchen().drop_task("light", 0).codes() == {"light-task"}
    assert kitchen().task("light", 0, at=t("1:06")).codes() == {"light-task"}
    assert kitchen().task("light", 0, place="hickory").codes() == {"light-task"}
    assert kitchen().task("light", 0, minutes=9).the("light-task").sentence == (
        "Lighting oak on Sat at 1:00 am takes 10 hand-minutes, but tasks give it 9."
    )


def test_light_task_allowed() -> None:
    assert kitchen().task("light", 0, at=t("1:05")).codes() == set()


def test_tend_task_forbidden() -> None:
    assert kitchen().drop_task("tend", 3).codes() == {"tend-task"}
    assert kitchen().task("tend", 3, minutes=4).codes() == {"tend-task"}
    late = kitchen().task("tend", 3, at=t("5:15"))
    assert late.codes() == {"tend-task"}
    assert late.the("tend-task").at == t("5:00")


def test_tend_task_allowed() -> None:
    assert kitchen().task("tend", 3, at=t("5:14")).codes() == set()
    # Nothing is due when the fire goes out.
    assert kitchen().fire(out_at=t("9:30")).firebox("oak", tend_every_min=60).codes() == set()
