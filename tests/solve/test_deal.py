"""Work dealt out without a model: whatever is dealt can be done, and a model finds nothing for what it cannot do."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from solve.test_people import crew_of
from solve_kitchen import grid_of

from scheduler.model.crew import SKILL_OF, TaskKind
from scheduler.solve.deal import Part, Table, deal, in_a_row
from scheduler.solve.people import _exact
from scheduler.solve.work import Work

SKILLS = (("fire", "pit", "wrap"), ("pit", "wrap", "slice"), ("slice", "counter"), ("fire", "slice", "counter"))
KINDS: tuple[TaskKind, ...] = ("load", "wrap", "pull", "slice", "tend", "light", "clean", "counter")
CREW = crew_of(grid_of(), *[("Ana", "day")] * len(SKILLS))
"""The model only needs as many people: who can do what is in the table."""


@st.composite
def works(draw: st.DrawFn, number: int) -> Work:
    """Some work of a step of 15 minutes."""
    kind = draw(st.sampled_from(KINDS))
    if kind == "counter":
        return Work(0, kind, 15)
    if kind in ("load", "wrap"):
        pieces, each = draw(st.integers(1, 12)), draw(st.sampled_from((0.5, 1.0, 1.5, 4.0)))
        return Work(0, kind, max(1, -int(-pieces * each // 1)), (f"L{number}",), pieces, each)
    minutes = draw(st.integers(1, 10))
    after, before = draw(st.sampled_from(((0, None), (0, 5), (5, None), (5, 10)))) if kind == "slice" else (0, None)
    return Work(0, kind, minutes, (f"L{number}",), place=f"box {number}", after=after, before=before)


@st.composite
def tables(draw: st.DrawFn) -> Table:
    """A step with up to eight kinds of work for four people."""
    todo = [draw(works(number)) for number in range(draw(st.integers(1, 8)))]
    prices = [
        {p: 10 - 4 * draw(st.booleans()) + len(mine) for p, mine in enumerate(SKILLS) if SKILL_OF[work.kind] in mine}
        for work in todo
    ]
    return Table(15, todo, prices, {"wrap": draw(st.integers(1, 2)), "slice": draw(st.integers(1, 3))})


def whole(table: Table, parts: list[Part]) -> bool:
    """True if the parts of each kind of work add up to it."""
    minutes, pieces = Counter[int](), Counter[int]()
    for part in parts:
        minutes[part.work] += part.minutes
        pieces[part.work] += part.pieces
    return all(
        pieces[w] == work.pieces if work.by_piece else minutes[w] == work.minutes for w, work in enumerate(table.todo)
    )


@given(tables())
def test_what_is_dealt_can_be_done_and_a_model_agrees(table: Table) -> None:
    parts = deal(table)
    shares = _exact(table, CREW)
    if parts is None:
        return
    assert whole(table, parts)
    for p in range(len(SKILLS)):
        mine = [part for part in parts if part.person == p]
        assert table.fits(mine)
        assert all(p in table.prices[part.work] for part in mine)
        for part in mine:
            work = table.todo[part.work]
            assert part.minutes * 10 >= part.pieces * round(work.per_piece_min * 10)
    for kind, stations in table.stations.items():
        assert len({part.person for part in parts if table.todo[part.work].kind == kind}) <= stations
    assert shares is not None, "the model knows of no rule that is not kept here"
    number = {id(one): i for some in (CREW, table.todo) for i, one in enumerate(some)}
    best = sum(table.prices[number[id(share.work)]][number[id(share.who)]] for share in shares)
    assert table.least_price() <= best <= table.price(parts)


def table_of(*todo: Work, people: int = 2, wrap: int = 2, slice_: int = 2) -> Table:
    """A step for people who can do everything, the first of them best."""
    return Table(15, list(todo), [{p: 10 + p for p in range(people)} for _ in todo], {"wrap": wrap, "slice": slice_})


def dealt(table: Table) -> list[tuple[int, int, int]] | None:
    parts = deal(table)
    return None if parts is None else sorted((part.work, part.person, part.minutes) for part in parts)


TENDING = Work(0, "tend", 10, place="oak")


def test_one_person_takes_all_that_fits() -> None:
    assert dealt(table_of(TENDING, Work(0, "light", 5, place="ash"))) == [(0, 0, 10), (1, 0, 5)]
    assert dealt(table_of(TENDING, Work(0, "light", 6, place="ash"))) == [(0, 0, 10), (1, 1, 6)]


def test_what_can_be_split_is_split_where_it_must_be() -> None:
    loading = Work(0, "load", 20, ("BR01",), 20, 1.0)
    assert dealt(table_of(loading)) == [(0, 0, 15), (0, 1, 5)]
    assert dealt(table_of(loading, TENDING)) == [(0, 0, 5), (0, 1, 15), (1, 0, 10)]
    assert dealt(table_of(loading, TENDING, people=1)) is None
    assert dealt(table_of(replace(loading, kind="wrap"), wrap=1)) is None, "one table, one person at it"


def test_whole_work_is_not_split() -> None:
    assert dealt(table_of(TENDING, TENDING, TENDING)) is None


@pytest.mark.parametrize(
    ("minutes", "fits"), [((10, 5), True), ((10, 6), False), ((9, 6), False)], ids=["full", "over", "pressed"]
)
def test_what_waits_and_what_presses(minutes: tuple[int, int], fits: bool) -> None:
    waits = Work(0, "slice", minutes[1], after=10)
    assert in_a_row(15, [(TENDING, minutes[0]), (waits, minutes[1])]) == fits


def test_what_presses_comes_first() -> None:
    presses = Work(0, "slice", 5, before=5)
    assert in_a_row(15, [(presses, 5), (TENDING, 10)])
    assert not in_a_row(15, [(replace(presses, minutes=6), 6)])
    inside = Work(0, "slice", 5, after=5, before=10)
    rest = Work(0, "light", 5, place="ash")
    assert in_a_row(15, [(inside, 5), (rest, 5)]), "from 10 minutes on: what does not press waits for it"
    assert not in_a_row(15, [(inside, 5), (rest, 6)])
