"""Whatever well-formed plan it is given, the audit answers and does not raise."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from audit_kitchen import kitchen
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.audit import RULES, audit, price
from scheduler.model.plan import Plan

NAMES = ["brisket", "chicken", "north", "south", "oven", "oak", "ash", "Ana", "Ben", "S1", "S9", "top", "plain", "x"]
MOMENTS = st.one_of(
    st.datetimes(datetime(2026, 4, 16), datetime(2026, 4, 21)).map(lambda m: m.replace(tzinfo=UTC)),
    st.sampled_from(
        [
            datetime.min.replace(tzinfo=timezone(timedelta(hours=14))),
            datetime.max.replace(tzinfo=timezone(-timedelta(hours=12))),
            datetime(2026, 4, 18, 12, 0, 31, tzinfo=UTC),
        ]
    ),
).map(datetime.isoformat)


def _paths(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Where a plan as JSON has a value to be spoiled."""
    if isinstance(node, dict):
        return [found for key, value in node.items() for found in _paths(value, (*path, key))]
    if isinstance(node, list):
        return [found for i, value in enumerate(node) for found in _paths(value, (*path, i))]
    return [path]


GOOD = json.loads(kitchen().plan.model_dump_json())
PATHS = [path for path in _paths(GOOD) if path[-1] not in ("format", "code")]


def _other(draw: st.DrawFn, path: tuple[Any, ...], old: Any) -> Any:
    if str(path[-1]).endswith("at"):
        return draw(MOMENTS)
    if path[-1] in ("kind", "wrap_kind", "clock", "stopped_by") or isinstance(old, bool):
        return old
    if isinstance(old, str):
        return draw(st.sampled_from(NAMES))
    if isinstance(old, int):
        return (
            draw(st.one_of(st.integers(1, 120), st.just(10**9)))
            if path[-1] != "grid_min"
            else draw(st.integers(1, 120))
        )
    return old


@st.composite
def spoiled(draw: st.DrawFn) -> Plan:
    """The good plan with some values changed and some items left out or doubled, still well-formed."""
    node = json.loads(json.dumps(GOOD))
    for path in draw(st.lists(st.sampled_from(PATHS), max_size=8, unique=True)):
        *way, last = path
        inner = node
        for step in way:
            inner = inner[step]
        inner[last] = _other(draw, path, inner[last])
    for part in ("loads", "fires", "shifts", "tasks", "shorts"):
        node[part] = [item for item in node[part] if draw(st.integers(0, 9))]
    for part in ("fires", "tasks", "shorts"):
        node[part] += node[part][: draw(st.integers(0, 1))]
    return Plan.model_validate(node)


@settings(deadline=None, max_examples=300)
@given(spoiled())
def test_the_audit_never_raises(plan: Plan) -> None:
    scenario = kitchen().scenario
    found = audit(plan, scenario)
    assert {breach.code for breach in found} <= set(RULES)
    assert all(breach.sentence.endswith(".") for breach in found)
    assert price(plan, scenario).total == price(plan, scenario).total


def test_an_empty_plan_has_breaches_and_no_error() -> None:
    empty = kitchen().with_plan(loads=(), fires=(), shifts=(), tasks=(), shorts=())
    assert empty.codes() == {"wave-balance", "counter-hands", "hand-minutes"}
