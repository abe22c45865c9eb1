"""Nothing happened, one thing happened, things happened one after another; and what the audit says of a false past."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from reshuffle_kitchen import assert_goes_on, at, corner, fire_fails, replanned, state, worst_hour

from scheduler.audit import FROM_ON, audit
from scheduler.model.clock import add_min
from scheduler.model.log import Arrived, Down, Loaded, Log, Missing, Ordered, Probe, Up, Wrapped
from scheduler.model.plan import Plan, Stop
from scheduler.reshuffle.candidate import lit_later
from scheduler.reshuffle.changed import changed, share_unchanged
from scheduler.reshuffle.money import money
from scheduler.reshuffle.replan import Search, reshuffle
from scheduler.reshuffle.state import State, state_at, went_as_planned
from scheduler.reshuffle.written import written
from scheduler.trade.food_safety import TIME_CONTROL_MAX_MIN


def test_nothing_happened_and_the_plan_comes_back_the_same() -> None:
    plan, _ = corner()
    now = state(Log(), at("3:00"))
    assert went_as_planned(now)
    assert reshuffle(now, moves=3).plan is plan


def test_all_went_as_planned_and_the_plan_comes_back_the_same() -> None:
    plan, _ = corner()
    moment = at("9:00")
    events = [Loaded(at=x.load_at, load=x.code) for x in plan.loads if x.load_at < moment]
    events += [Wrapped(at=x.wrap_at, load=x.code) for x in plan.loads if x.wrap_at and x.wrap_at < moment]  # type: ignore[misc]
    assert reshuffle(state(Log(tuple(events)), moment), moves=3).plan is plan


def test_an_hour_with_nothing_on_hand_changes_nothing() -> None:
    plan, _ = corner()
    assert share_unchanged(plan, plan, at("3:00")) == 1
    assert changed(state(Log(), at("3:00")), plan).loads == ()


def test_a_dead_fire_starts_a_clock_for_each_piece_over_it() -> None:
    now = fire_fails()
    dead = [b for b in now.past.begun if b.dead_min is not None]
    assert dead
    for begun in dead:
        assert begun.act_by_min is not None
        assert begun.leave_by_min is not None
        assert begun.act_by_min <= begun.leave_by_min <= now.now_min + TIME_CONTROL_MAX_MIN
        assert begun.rule in ("TIME-4H", "COME-UP")
    assert not went_as_planned(now)


def test_what_is_taken_back_within_its_minute_was_never_so() -> None:
    plan, _ = corner()
    shift = plan.shifts[0]
    gone = add_min(shift.starts_at, 60)
    back = gone + timedelta(seconds=40)
    place, person = plan.fires[0].firebox, shift.person
    now = state(
        Log(
            (
                Down(at=gone, place=place),
                Missing(at=gone, person=person),
                Up(at=back, place=place),
                Arrived(at=back, person=person),
            )
        ),
        add_min(gone, 15),
    )
    assert now.facts.outages == now.facts.absences == []
    assert went_as_planned(now)


def test_what_is_over_a_dead_fire_is_out_in_time_or_written_off() -> None:
    now = fire_fails()
    search, plan = replanned(now)
    assert_goes_on(now, search, plan)
    dead = {b.code: b for b in search.past.begun if b.dead_min is not None}
    for load in plan.loads:
        begun = dead.get(load.part_of or load.code)
        if begun is not None and not begun.done:
            assert load.turns()[-1][0] >= now.clock.moment(now.from_min)
    sums = money(search.basis, plan, search.kept.candidate)  # type: ignore[union-attr, arg-type]
    assert sums.new == plan.cost.total
    assert sums.lost >= plan.cost.total - now.plan.cost.total
    assert changed(now, plan).unchanged < 1


def test_a_second_mishap_starts_from_the_second_plan() -> None:
    first = fire_fails()
    search, plan = replanned(first)
    later = at("8:00")
    person = next((s.person for s in plan.shifts if s.starts_at <= later < s.ends_at), plan.shifts[-1].person)
    down = first.facts.outages[0]
    log = Log((Down(at=at(worst_hour()[1]), place=down.place), Missing(at=later, person=person)))
    now = state_at(plan, first.scenario, log, later, search.past)
    again, third = replanned(now)
    assert third.number == 3
    assert_goes_on(now, again, third)
    # What was on at the first mishap is on since the same minute in the third plan.
    for load in third.loads:
        was = next((x for x in plan.loads if x.code == (load.part_of or load.code)), None)
        if was is not None and was.load_at < later:
            assert load.load_at == was.load_at


def test_the_same_log_again_changes_nothing_in_the_new_plan() -> None:
    first = fire_fails()
    search, plan = replanned(first)
    box, clock = worst_hour()
    now = state_at(plan, first.scenario, Log((Down(at=at(clock), place=box),)), at(clock), search.past)
    assert now.same_kitchen
    assert now.scenario == first.scenario


def test_a_reading_narrows_and_an_order_is_made_or_short() -> None:
    plan, scenario = corner()
    load = next(x for x in plan.loads if x.wrap_at is not None and x.wrap_at < at("3:00") < x.early_done_at)
    moment = at("3:00")
    plain = state(Log((Ordered(at=moment, name="elm", cut=load.cut, pieces=1, pickup=at("13:00")),)), moment)
    read = state(Log((Probe(at=moment, load=load.code, temp_f=175),)), moment)
    wide, narrow = (now.past.load(load.code) for now in (plain, read))
    assert wide is not None
    assert narrow is not None
    assert narrow.spread[2] - narrow.spread[0] < wide.spread[2] - wide.spread[0]
    search, new = replanned(plain)
    assert_goes_on(plain, search, new)
    asked = [d for d in plain.scenario.weekend.demands() if d.wave == "order elm"]
    assert len(asked) == len([d for d in scenario.weekend.demands() if d.wave == "order elm"]) + 1


# The audit from a moment on ------------------------------------------------------------------------------------------


def first_begun(plan: Plan, now: State) -> int:
    """Index of a load that is on and not done."""
    on = {b.code for b in now.past.begun if not b.done}
    return next(i for i, load in enumerate(plan.loads) if load.code in on)


def with_load(plan: Plan, i: int, **update: object) -> Plan:
    """The plan with one load told otherwise."""
    loads = list(plan.loads)
    loads[i] = loads[i].model_copy(update=update)
    return plan.model_copy(update={"loads": tuple(loads)})


def moved_before(plan: Plan, now: State) -> Plan:
    i = first_begun(plan, now)
    return with_load(plan, i, load_at=plan.loads[i].load_at - timedelta(minutes=15))


def one_piece_less(plan: Plan, now: State) -> Plan:
    i = first_begun(plan, now)
    return with_load(plan, i, pieces=plan.loads[i].pieces + 1)


def fire_not_lit(plan: Plan, now: State) -> Plan:
    return plan.model_copy(update={"fires": plan.fires[1:]})


def shift_not_worked(plan: Plan, now: State) -> Plan:
    return plan.model_copy(update={"shifts": plan.shifts[1:]})


def work_not_done(plan: Plan, now: State) -> Plan:
    return plan.model_copy(update={"tasks": plan.tasks[1:]})


def left_in_the_cold(plan: Plan, now: State) -> Plan:
    dead = {b.code for b in now.past.begun if b.dead_min is not None and not b.done}
    loads = tuple(
        x.model_copy(update={"stops": (), "finish_place": x.smoker, "finish_rack": x.rack})
        if (x.part_of or x.code) in dead
        else x
        for x in plan.loads
    )
    gone = tuple(x for x in plan.losses if x.load not in dead)
    kept = [b for b in now.past.begun if b.code in dead and not any((x.part_of or x.code) == b.code for x in loads)]
    more = tuple(now.plan.load(b.code).model_copy(update={"stops": ()}) for b in kept)
    return plan.model_copy(update={"loads": (*loads, *more), "losses": gone})


def moved_by_nobody(plan: Plan, now: State) -> Plan:
    i = first_begun(plan, now)
    load = plan.loads[i]
    smoker = now.scenario.site.smokers[-1]
    stop = Stop(at=now.clock.moment(now.from_min + 30), place=smoker.name, rack=smoker.racks[0].name)
    return with_load(plan, i, stops=(*load.stops, stop))


FALSE: dict[str, Callable[[Plan, State], Plan]] = {
    "past-load": moved_before,
    "piece-lost": one_piece_less,
    "past-fire": fire_not_lit,
    "past-shift": shift_not_worked,
    "past-task": work_not_done,
    "cold-smoker": left_in_the_cold,
    "move-task": moved_by_nobody,
}


@pytest.mark.parametrize("code", FROM_ON)
def test_each_rule_of_the_past_finds_what_breaks_it(code: str) -> None:
    now = fire_fails()
    search, plan = replanned(now)
    assert audit(plan, now.scenario, search.past) == ()
    broken = FALSE[code](plan, now)
    assert code in {breach.code for breach in audit(broken, now.scenario, search.past)}


def test_a_fire_that_burns_may_change_its_setpoint_and_change_back() -> None:
    search = Search(state(Log(), at("1:00")))
    search.first()
    candidate, step = search.best, search.basis.step
    assert candidate is not None
    board = candidate.board
    burn = next(b for b in board.frame.burns(board.grid) if b.lit < step and b.out > step + 24)
    held = board.frame.levels[burn.firebox].copy()
    now = int(held[step])
    other = next(f for f in board.grid.fireboxes[burn.firebox].setpoints_f if f != now)
    held[step + 8 : step + 16] = other
    levels = tuple(held if i == burn.firebox else its for i, its in enumerate(board.frame.levels))
    changed = replace(candidate, board=replace(board, frame=board.frame.with_levels(levels)))
    plan = written(search.basis, changed, 2, 0.0, 0).plan
    fire = next(f for f in plan.fires if f.firebox == board.grid.fireboxes[burn.firebox].name)
    assert [setpoint.setpoint_f for setpoint in fire.setpoints][-3:] == [now, other, now]


def test_a_fire_that_nobody_can_clean_out_in_time_is_lit_later_and_nothing_is_put_over_it_before() -> None:
    basis = Search(state(Log(), at("1:00", 15))).basis
    burns = {burn.firebox: burn for burn in basis.frame.burns(basis.grid)}
    late = max(burns.values(), key=lambda burn: burn.lit)
    moved, frame, waits = lit_later(basis, basis.frame, {late.lit - 1}, by=4)
    for burn in frame.burns(basis.grid):
        was = burns[burn.firebox]
        assert (burn.lit, burn.out) == (was.lit + 4 * (was is late), was.out)
    ready = late.setpoints[0][0]
    assert waits == {late.firebox: range(ready, ready + 4)}
    assert not moved.can_burn[late.firebox][: ready + 4].any()
    assert moved.can_burn[late.firebox][ready + 4]
