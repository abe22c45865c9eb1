"""The page of what to do now: by person, old and new, what to tell the guests; escaped, and short."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

from reshuffle_kitchen import at, corner, fire_fails, replanned, state

from scheduler.model.log import Log, Missing
from scheduler.model.plan import Loss
from scheduler.report.desk import Desk
from scheduler.report.do_now import DoNow, _Page, do_now, do_now_html, do_now_text
from scheduler.report.page import page_html
from scheduler.report.status import status_text
from scheduler.report.words import pieces_text
from scheduler.reshuffle.changed import WaveChange
from scheduler.reshuffle.money import money
from scheduler.reshuffle.state import State

WORDS_A_MINUTE = 150
"""Reading aloud at an easy pace; common practice, no source."""


def page_of(now: State) -> DoNow:
    search, plan = replanned(now)
    assert search.kept is not None
    assert search.kept.candidate is not None
    return do_now(now, plan, money(search.basis, plan, search.kept.candidate))


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
    assert re.search(r"\d(:\d\d)? am [A-Z]", now)


def test_guests_are_told_of_the_next_half_day_first_and_not_of_minutes() -> None:
    now = fire_fails()
    search, plan = replanned(now)
    assert search.kept is not None
    assert search.kept.candidate is not None
    teller = _Page(now, plan, money(search.basis, plan, search.kept.candidate))
    ready = now.plan.loads[0].ready_by_at
    cut = now.plan.loads[0].cut

    def said(late_min: int, late: int, short: int) -> list[str]:
        until = ready + timedelta(minutes=late_min)
        wave = WaveChange(cut, now.plan.loads[0].wave, ready, ready, short, 0, late, until)
        return list(teller.of_wave(wave))

    assert said(9, 1, 0) == []
    [line] = said(30, 10_000, 0)
    assert " only by " in line
    assert " of " not in line.partition(" only")[0].removeprefix("slab of")
    assert re.search(r"only by (\w+ )?(noon|midnight|\d+(:(15|30|45))?( [ap]m)?)$", said(41, 10_000, 0)[0])
    [line] = said(9, 1, 2)
    assert " instead of " in line or line.startswith("no ")


def test_each_load_that_goes_on_otherwise_is_told_with_how_it_was() -> None:
    page = page_of(fire_fails())
    assert page.on_the_pit or page.thrown
    assert all("(was " in line or "parted from" in line for line in page.on_the_pit)
    assert all(": " in line for line in page.thrown)
    assert ": out of use since " in page.happened[0]


def test_what_cannot_go_on_is_added_up_by_cut_and_loads_of_which_some_go_on_are_told_apart() -> None:
    now = fire_fails()
    search, plan = replanned(now)
    assert search.kept is not None
    assert search.kept.candidate is not None
    several = next(load for load in now.plan.loads if load.pieces > 1)
    other = next(load for load in now.plan.loads if load.cut == several.cut and load is not several)
    why = "no place with heat for it in time (4.3)"
    losses = tuple(
        Loss(load=load.code, cut=load.cut, pieces=pieces, at=at("5:00"), kind="written off", why=why)
        for load, pieces in ((several, 1), (other, other.pieces))
    )
    lossy = plan.model_copy(update={"losses": losses})
    [told] = _Page(now, lossy, money(search.basis, plan, search.kept.candidate)).thrown()
    pieces = pieces_text(1 + other.pieces, several.cut)
    assert told == f"Throw away {pieces} ({other.code}, 1 of {several.code}): no place with heat for it in time."


def test_money_is_told_against_the_old_plan_and_against_doing_nothing() -> None:
    first, *_, last = page_of(fire_fails()).money
    assert first.startswith("Lost against plan 1: $")
    assert last.startswith("Saved against doing nothing: $")


def test_the_parts_of_what_is_lost_add_up_in_whole_dollars() -> None:
    now = fire_fails()
    search, plan = replanned(now)
    assert search.kept is not None
    assert search.kept.candidate is not None
    sums = money(search.basis, plan, search.kept.candidate)
    for cents in (149, 150, 151):
        told = _Page(now, plan, replace(sums, meat=cents, late=cents)).money()
        first, parts = (sum(int(x.replace(",", "")) for x in re.findall(r"\$([\d,]+)", next(told))) for _ in range(2))
        assert first == parts


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
