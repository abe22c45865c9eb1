"""People: their days, shifts, rest, skills, and what the law says of the young."""

from __future__ import annotations

from datetime import datetime, time
from zoneinfo import ZoneInfo

import pytest
from audit_kitchen import Kitchen, ana, ben, kitchen, naive, t

from scheduler.audit import audit
from scheduler.model.plan import Shift
from scheduler.model.weekend import Away, ServiceDay


def test_shift_day_forbidden() -> None:
    assert kitchen().person("Cal", patterns=("night", "day")).codes() == {"shift-day"}
    assert kitchen().person("Cal", days=("fri", "sun")).codes() == {"shift-day"}
    assert kitchen().pattern("service", days=("sun",)).the("shift-day").sentence == (
        "Shift S3 starts on Sat at 10:00 am, but there is no service shift on Sat."
    )


def test_shift_day_allowed() -> None:
    fits = kitchen().person("Cal", patterns=("service",), days=("sat",)).pattern("service", days=("sat",))
    assert fits.codes() == set()


def test_shift_times_forbidden() -> None:
    assert kitchen().pattern("service", starts=time(9, 45)).codes() == {"shift-times"}
    assert kitchen().pattern("service", length_min=301).codes() == {"shift-times"}
    assert kitchen().pattern("service", length_min=299).the("shift-times").sentence == (
        "Shift S3 of Cal lasts 5 h, but the service shift lasts 4 h 59."
    )
    backwards = kitchen().shift("S3", ends_at=t("9:00"))
    assert "Shift S3 of Cal lasts minus 1 h, but the service shift lasts 5 h." in {
        breach.sentence for breach in backwards.breaches()
    }


def test_shift_times_allowed() -> None:
    later = kitchen().pattern("service", starts=time(10, 15), length_min=285).shift("S3", starts_at=t("10:15"))
    assert later.codes() == set()


def _autumn(starts: datetime, ends: datetime) -> set[str]:
    """Shift times of one shift in the night of November 1, 2026, when 2:00 am becomes 1:00 am."""
    day = ServiceDay(opens=datetime(2026, 11, 1, 11), closes=datetime(2026, 11, 1, 14), counter_hands=0)
    base = kitchen().weekend(plan_from=datetime(2026, 10, 31, 12), days=(day,), waves=(), orders=())
    base = base.pattern("night", starts=time(22))
    shift = Shift(code="S1", person="Ana", pattern="night", starts_at=starts, ends_at=ends)
    found = base.with_plan(shifts=(shift,))
    return {breach.code for breach in audit(found.plan, found.scenario)} & {"shift-times", "shift-length"}


def test_shift_times_are_elapsed_across_the_clock_change() -> None:
    zone = ZoneInfo("America/Chicago")
    start = datetime(2026, 10, 31, 22, tzinfo=zone)
    # Ten hours from 10 pm end at 7 am, since the clock runs through the hour from 1 to 2 twice.
    assert _autumn(start, datetime(2026, 11, 1, 7, tzinfo=zone)) == set()
    assert _autumn(start, datetime(2026, 11, 1, 8, tzinfo=zone)) == {"shift-times", "shift-length"}


def test_shift_length_forbidden() -> None:
    assert kitchen().crew(longest_shift_min=599).codes() == {"shift-length"}
    assert kitchen().crew(longest_shift_min=599).the("shift-length").sentence == (
        "Shift S1 of Ana lasts 10 h; 9 h 59 is the longest."
    )


def test_shift_length_allowed() -> None:
    assert kitchen().crew(longest_shift_min=600).codes() == set()


def _second(starts: str, ends: str) -> Kitchen:
    """Cal comes a second time that day."""
    length = int((t(ends) - t(starts)).total_seconds() // 60)
    pattern = kitchen().scenario.crew.pattern("service")
    more = pattern.model_copy(update={"name": "second", "starts": t(starts).time(), "length_min": length})
    shift = Shift(code="S4", person="Cal", pattern="second", starts_at=t(starts), ends_at=t(ends))
    return kitchen().crew(patterns=(*kitchen().scenario.crew.patterns, more)).add_shift(shift)


def test_shift_rest_forbidden() -> None:
    assert _second("22:59", "23:30").codes() == {"shift-rest"}
    assert _second("22:59", "23:30").the("shift-rest").sentence == (
        "Cal has 7 h 59 between two shifts before the one on Sat at 10:59 pm; 8 h is the least rest."
    )
    assert "twice at once" in _second("14:59", "16:00").the("shift-rest").sentence


def test_shift_rest_allowed() -> None:
    assert _second("23:00", "23:30").codes() == set()
    assert "shift-rest" not in _second("15:00", "16:00").crew(least_rest_min=0).codes()


def _away(start: str, end: str) -> Kitchen:
    return kitchen().weekend(away=(Away(person="Cal", from_at=naive(start), until_at=naive(end)),))


def test_person_away_forbidden() -> None:
    assert _away("14:59", "18:00").codes() == {"person-away"}
    assert _away("8:00", "10:01").the("person-away").sentence == (
        "Cal is called in for shift S3 on Sat at 10:00 am, but is away Sat 8:00 to 10:01 am."
    )


def test_person_away_allowed() -> None:
    assert _away("8:00", "10:00").codes() | _away("15:00", "18:00").codes() == set()


def test_task_shift_forbidden() -> None:
    assert kitchen().task("slice", 0, shift="S3").codes() == {"task-shift"}
    assert kitchen().add_tasks(ana("load", "10:29", 2)).codes() >= {"task-shift"}
    early = kitchen().shift("S3", starts_at=t("11:01")).the("task-shift")
    assert early.sentence == (
        "The counter task on Sat at 11:00 am of Cal is not inside shift S3, Sat 11:01 am to 3:00 pm."
    )


def test_task_shift_allowed() -> None:
    assert (
        kitchen().add_tasks(ana("tend", "10:25", 5, place="oak"), ben("tend", "6:00", 1, place="oak")).codes() == set()
    )


def test_task_skill_forbidden() -> None:
    found = kitchen().person("Ben", skills=("fire", "slice"))
    sentences = [breach.sentence for breach in found.breaches() if breach.code == "task-skill"]
    assert sentences[0] == "Ben is given a pull task on Sat at 7:15 am, but does not have the skill pit."
    assert len(sentences) == 4


def test_task_skill_allowed() -> None:
    assert kitchen().person("Cal", skills=("counter",)).codes() == set()


def test_task_overlap_forbidden() -> None:
    found = kitchen().task("load", 0, at=t("2:04"))
    assert found.codes() == {"task-overlap"}
    assert found.the("task-overlap").sentence == (
        "Ana is to load on Sat at 2:04 am while still busy to tend until 2:05 am."
    )
    # A short task inside a long one does not hide the next overlap.
    inside = kitchen().add_tasks(ben("tend", "11:02", 1, place="oak"), ben("tend", "11:14", 1, place="oak"))
    assert len([breach for breach in inside.breaches() if breach.code == "task-overlap"]) == 2


def test_task_overlap_allowed() -> None:
    assert kitchen().task("load", 0, at=t("2:05")).codes() == set()


def test_young_task_forbidden() -> None:
    # Born in 2010 or 2011, so perhaps still 14 in April 2026: no fire, no pit (29 CFR 570.33, 570.34).
    young = kitchen().person("Ben", birth_years=(2010, 2011))
    assert "young-task" in young.codes()
    # A person of 17 may not run a power slicer (29 CFR 570.61).
    slicer = kitchen().site(power_slicer=True).person("Ben", birth_years=(2008, 2008))
    assert {"young-task"} <= slicer.codes()
    assert "29 CFR 570.61" in next(b.sentence for b in slicer.breaches() if b.code == "young-task")


def test_young_task_allowed() -> None:
    assert kitchen().person("Ben", birth_years=(2008, 2008)).codes() == set()
    assert kitchen().site(power_slicer=True).person("Ben", birth_years=(2007, 2007)).codes() == set()


def test_the_skills_of_the_young_count_only_as_far_as_the_law_goes() -> None:
    young = kitchen().person("Ana", birth_years=(2010, 2011))
    assert {"fire-unwatched", "hand-minutes", "young-task", "young-hours"} <= young.codes()


def test_young_hours_forbidden() -> None:
    # 14 or 15 years old and called in at 12:30 am.
    young = kitchen().person("Ana", birth_years=(2010, 2011))
    found = [breach.sentence for breach in young.breaches() if breach.code == "young-hours"]
    assert any(sentence.startswith("Ana: on 2026-04-18: 14- and 15-year-olds may work only") for sentence in found)
    # Years of birth that make no sense never pass.
    assert {"young-hours", "young-task"} <= kitchen().person("Cal", birth_years=(2030, 2031)).codes()


def test_young_hours_allowed() -> None:
    # Cal, 15, at the counter from 10 am to 3 pm on a Saturday: 5 hours, and no fire near.
    assert kitchen().person("Cal", birth_years=(2010, 2010), skills=("counter",)).codes() == set()


@pytest.mark.parametrize("age", [16, 17])
def test_young_hours_are_free_from_16(age: int) -> None:
    born = 2026 - age - 1
    assert "young-hours" not in kitchen().person("Ana", birth_years=(born, born)).codes()
