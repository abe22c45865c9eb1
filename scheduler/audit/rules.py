"""Table of contents of the audit: every rule of a valid plan, one function each, by its stable code.

To add a rule: write `def rule(view) -> Iterator[Breach]` in the module of its topic, whose breaches carry a new code,
add one line here, and two tests: a plan that breaks the rule, and one that just keeps it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from scheduler.audit import (
    cost,
    fire,
    hands,
    minutes,
    names,
    people,
    ranges,
    safety,
    space,
    temperature,
    trials,
    waves,
)
from scheduler.audit.breach import Breach
from scheduler.audit.view import View

Rule = Callable[[View], Iterator[Breach]]

RULES: dict[str, Rule] = {
    # names, codes and dates
    "unknown-name": names.unknown_names,
    "load-code": names.load_codes,
    "plan-head": names.plan_head,
    "outside-weekend": names.outside_weekend,
    "part-minute": names.part_minutes,
    # waves
    "unknown-wave": waves.unknown_waves,
    "wave-balance": waves.wave_balance,
    "wave-times": waves.wave_times,
    "not-ready": waves.ready_in_time,
    "held-too-long": waves.hold_limit,
    # trials
    "trial-pairs": trials.pairs_whole,
    "trial-alike": trials.pairs_alike,
    # cooking times
    "wrap-kind": ranges.wrap_kind,
    "wrap-window": ranges.wrap_window,
    "done-range": ranges.done_range,
    "hold-start": ranges.hold_start,
    # space
    "finish-place": space.finish_place,
    "oven-refused": space.oven_only_wrapped,
    "rack-fit": space.rack_fit,
    "rest-place": space.rest_place,
    "hold-place": space.hold_place,
    "rack-overfull": space.rack_space,
    "oven-overfull": space.oven_space,
    "rest-overfull": space.rest_space,
    "hold-overfull": space.hold_space,
    "out-of-use": space.out_of_use,
    # temperature
    "setpoint-unknown": temperature.known_setpoints,
    "setpoint-order": temperature.setpoint_order,
    "rack-temperature": temperature.rack_temperature,
    "oven-temperature": temperature.oven_temperature,
    # fire
    "warm-up": fire.warm_up,
    "load-without-fire": fire.fire_for_loads,
    "clean-out-time": fire.clean_out,
    "fire-unwatched": fire.fires_watched,
    "light-task": fire.lighting,
    "tend-task": fire.tending,
    "clean-task": fire.cleaning,
    # hands
    "task-loads": hands.one_load_per_task,
    "load-task": hands.loading,
    "wrap-task": hands.wrapping,
    "wrap-tables": hands.wrap_tables,
    "pull-rounds": hands.pull_rounds,
    "pull-cover": hands.pull_cover,
    "slice-task": hands.slicing,
    "cutting-boards": hands.cutting_boards,
    "counter-hands": hands.counter,
    "hand-minutes": minutes.hand_minutes,
    "wrap-minutes": minutes.wrap_minutes,
    "slice-minutes": minutes.slice_minutes,
    # people
    "shift-day": people.shift_day,
    "shift-times": people.shift_times,
    "shift-length": people.shift_length,
    "shift-rest": people.shift_rest,
    "person-away": people.away,
    "task-shift": people.task_in_shift,
    "task-skill": people.task_skill,
    "task-overlap": people.one_place_at_a_time,
    "young-task": people.young_tasks,
    "young-hours": people.young_hours,
    # food safety
    "done-temperature": safety.done_temperature,
    "tallow-time": safety.tallow_time,
    "come-up": safety.come_up,
    "hold-too-cold": safety.hot_hold,
    "hold-temperature": safety.hold_temperature,
    "rest-too-cold": safety.rest_warm,
    "time-control": safety.time_control,
    # money
    "cost-differs": cost.cost_agrees,
    "certificate": cost.certificate_agrees,
}
