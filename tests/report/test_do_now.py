"""The page of what to do now: by person, old and new, what to tell the guests; escaped, and short."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from reshuffle_kitchen import at, corner, fire_fails, state, with_sums

from scheduler.model.crew import TaskKind
from scheduler.model.log import Log, Missing
from scheduler.model.plan import Load, Loss, Shift, Stop, Task
from scheduler.report.desk import Desk
from scheduler.report.do_now import DoNow, _Page, do_now, do_now_html, do_now_text
from scheduler.report.page import page_html
from scheduler.report.status import status_text
from scheduler.report.words import codes_text, pieces_text, rack_text
from scheduler.reshuffle.state import State

WORDS_A_MINUTE = 150
"""Reading aloud at an easy pace; common practice, no source."""


def page_of(now: State) -> DoNow:
    return do_now(now, *with_sums(now))


def handled(shift: Shift, since: datetime, *some: tuple[int, TaskKind, Load]) -> tuple[Task, ...]:
    """Loads handled by one person: minutes from now, what is done, and with which load."""
    return tuple(
        Task(
            at=since + timedelta(minutes=minute),
            minutes=2,
            kind=kind,
            person=shift.person,
            shift=shift.code,
            loads=(load.code,),
            pieces=load.pieces,
        )
        for minute, kind, load in some
    )


def test_the_first_thing_is_what_to_do_and_it_is_read_in_a_minute() -> None:
    page = page_of(fire_fails())
    text = do_now_text(page)
    now = text[text.index("DO NOW") : text.index("\n\n", text.index("DO NOW"))]
    spoken = [*page.happened, *page.thrown, *page.guests]
    for person in page.people:
        spoken += [person.name, *person.todo]
    assert page.people
    assert sum(len(line.split()) for line in spoken) < WORDS_A_MINUTE
    assert text.index("DO NOW") < text.index("ON THE PIT")
    assert re.search(r"    \d+:\d\d [A-Z]", now)


def test_moves_of_one_person_to_one_place_are_one_line() -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    since = _Page(now, plan, sums).since
    oven = now.scenario.site.ovens[0].name
    one, two, other = plan.loads[:3]
    shift = next(s for s in plan.shifts if s.starts_at <= since < s.ends_at)
    stop = Stop(at=since, place=oven, rack=None)
    tasks = handled(shift, since, (0, "move", one), (4, "load", other), (8, "move", two))
    moved = tuple(load.model_copy(update={"stops": (stop,) if load in (one, two) else ()}) for load in plan.loads)
    page = _Page(now, plan.model_copy(update={"loads": moved, "tasks": tasks}), sums)
    [person] = [person for person in page.people() if person.name == shift.person]
    first, second = person.todo
    assert re.match(r"\d+:\d\d Move ", first)
    assert first.endswith(f" to the {page.desk.spot_words(oven, None)}.")
    assert one.code in first
    assert two.code.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ") in first
    assert f"({other.code})" in second


def test_moves_to_racks_of_one_smoker_are_one_line_rack_by_rack() -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    since = _Page(now, plan, sums).since
    smoker = next(smoker for smoker in now.scenario.site.smokers if len(smoker.racks) > 1)
    one, two = plan.loads[:2]
    shift = next(s for s in plan.shifts if s.starts_at <= since < s.ends_at)
    racks = {one.code: smoker.racks[0].name, two.code: smoker.racks[1].name}
    tasks = handled(shift, since, (0, "move", one), (4, "move", two))
    loads = (
        load.model_copy(update={"stops": (Stop(at=since, place=smoker.name, rack=racks[load.code]),)})
        if load.code in racks
        else load
        for load in plan.loads
    )
    page = _Page(now, plan.model_copy(update={"loads": tuple(loads), "tasks": tasks}), sums)
    [person] = [person for person in page.people() if person.name == shift.person]
    [line] = person.todo
    names = {code: rack_text(rack).removesuffix(" rack") for code, rack in racks.items()}
    parts = [f"{pieces_text(load.pieces, load.cut)} ({load.code}), {names[load.code]}" for load in (one, two)]
    assert line.endswith(f" Move to the {page.desk.smoker_words(smoker.name)}: {parts[0]}; {parts[1]}.")


@pytest.mark.parametrize("change_f", [0, 25])
def test_a_fire_at_the_setpoint_that_all_know_is_tended_without_it(change_f: int) -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    since = _Page(now, plan, sums).since
    shift = next(s for s in plan.shifts if s.starts_at <= since < s.ends_at)
    burn = next(f for f in plan.fires if f.lit_at <= since < f.out_at)
    other = tuple(s.model_copy(update={"setpoint_f": s.setpoint_f + change_f}) for s in burn.setpoints)
    fires = tuple(f.model_copy(update={"setpoints": other}) if f is burn else f for f in plan.fires)
    tend = Task(at=since, minutes=4, kind="tend", person=shift.person, shift=shift.code, place=burn.firebox)
    page = _Page(now, plan.model_copy(update={"fires": fires, "tasks": (tend,)}), sums)
    [person] = [person for person in page.people() if person.name == shift.person]
    assert ("°F" in person.todo[0]) is bool(change_f)


def test_wraps_of_one_person_in_one_way_are_one_line() -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    since = _Page(now, plan, sums).since
    one, two, other = plan.loads[:3]
    shift = next(s for s in plan.shifts if s.starts_at <= since < s.ends_at)
    tasks = handled(shift, since, (0, "wrap", one), (4, "wrap", other), (8, "wrap", two))
    ways = {one.code: "paper", two.code: "paper", other.code: "foil"}
    same = {"finish_place": one.finish_place}
    loads = (
        load.model_copy(update={"wrap_kind": ways[load.code], **same}) if load.code in ways else load
        for load in plan.loads
    )
    page = _Page(now, plan.model_copy(update={"loads": tuple(loads), "tasks": tasks}), sums)
    [person] = [person for person in page.people() if person.name == shift.person]
    first, second = person.todo
    assert re.match(r"\d+:\d\d Wrap ", first)
    assert one.code in first
    assert two.code.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ") in first
    assert first.endswith(" in paper.")
    assert f"Wrap {other.code} in foil" in second


def test_each_load_that_goes_on_otherwise_is_told_with_how_it_was() -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    page, reasons = do_now(now, plan, sums), list(_Page(now, plan, sums).reasons())
    assert page.on_the_pit or page.thrown
    changed = [line for line in page.on_the_pit if line not in reasons]
    assert all("(was " in line or "parted from" in line for line in changed)
    assert all(line.startswith(("Throw away ", "Chill ")) for line in page.thrown)
    assert bool(reasons) is bool(page.thrown)
    assert all(": " in line for line in reasons)
    assert page.happened[0].endswith(" out of use.")


def test_what_cannot_go_on_is_added_up_by_cut_and_loads_of_which_some_go_on_are_told_apart() -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    several = next(load for load in now.plan.loads if load.pieces > 1)
    other = next(load for load in now.plan.loads if load.cut == several.cut and load is not several)
    why = "no hot place in time (4.3)"
    losses = tuple(
        Loss(load=load.code, cut=load.cut, pieces=pieces, at=at("5:00"), kind="written off", why=why)
        for load, pieces in ((several, 1), (other, other.pieces))
    )
    lossy = plan.model_copy(update={"losses": losses})
    page = _Page(now, lossy, sums)
    [told] = page.thrown()
    pieces = pieces_text(1 + other.pieces, several.cut)
    assert told == f"Throw away {pieces} ({other.code}, 1 of {several.code})."
    assert list(page.reasons()) == [f"{codes_text(sorted((other.code, several.code)))}: no hot place in time."]


def test_where_all_of_a_cut_is_lost_no_codes_are_needed() -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    in_hand = Counter[str]()
    for begun in now.past.begun:
        in_hand[begun.cut] += begun.pieces
    [(cut, pieces)] = in_hand.most_common(1)
    losses = tuple(
        Loss(load=b.code, cut=cut, pieces=b.pieces, at=at("5:00"), kind="written off", why="no hot place in time (4.3)")
        for b in now.past.begun
        if b.cut == cut
    )
    for lost, head in (
        (losses, f"all {pieces_text(pieces, cut)}."),
        (losses[1:], f"{pieces_text(pieces - losses[0].pieces, cut)} ("),
    ):
        [told] = _Page(now, plan.model_copy(update={"losses": lost}), sums).thrown()
        assert told.startswith(f"Throw away {head}")


def test_money_is_told_against_the_old_plan_and_against_doing_nothing() -> None:
    first, exact, last = page_of(fire_fails()).money
    spoken = r"(about )?-?\$[\d,]+$"
    assert re.match(f"Lost: {spoken}", first)
    assert re.match(r"Against plan 1: -?\$[\d,]+", exact)
    assert re.match(f"Saved against doing nothing: {spoken}", last)


def test_the_parts_of_what_is_lost_add_up_in_whole_dollars() -> None:
    now = fire_fails()
    plan, sums = with_sums(now)
    for cents in (149, 150, 151):
        _, told, _ = _Page(now, plan, replace(sums, meat=cents, late=cents)).money()
        whole, *parts = (int(x.replace(",", "")) for x in re.findall(r"\$([\d,]+)", told))
        assert whole == sum(parts)


def test_the_page_carries_no_script_and_escapes_names() -> None:
    assert "<b>" not in page_html(Desk(*corner()), "<b>old</b>")
    html = do_now_html(page_of(fire_fails()))
    assert "<script" not in html
    assert " style=" not in html
    assert "Content-Security-Policy" in html


def test_status_tells_who_is_missing_and_what_cools() -> None:
    plan, _ = corner()
    moment = at("3:00")
    person = next(s.person for s in plan.shifts if s.starts_at < moment < s.ends_at)
    said = status_text(state(Log((Missing(at=moment, person=person),)), moment))
    assert f"{person}: NOT HERE" in said
    cold = status_text(fire_fails())
    assert "No fire under it. Move it, finish it in an oven, or write it off:" in cold
    assert "or thrown away (" in cold
