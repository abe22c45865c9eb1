"""A scenario folder to the model, and plan.json to and from the model.

`read_scenario` reports all mistakes of a folder at once, as one `InputError`.
"""

from __future__ import annotations

from scheduler.books.cooks import read_cooks
from scheduler.books.files import publish, write_text
from scheduler.books.learned import write_ranges
from scheduler.books.logs import append_event, event_of, read_log
from scheduler.books.plans import plan_schema, read_past, read_plan, write_past, write_plan
from scheduler.books.sales import read_history
from scheduler.books.scenarios import read_scenario, read_scenario_dump, scenario_dump, scenario_hash

__all__ = [
    "append_event",
    "event_of",
    "plan_schema",
    "publish",
    "read_cooks",
    "read_history",
    "read_log",
    "read_past",
    "read_plan",
    "read_scenario",
    "read_scenario_dump",
    "scenario_dump",
    "scenario_hash",
    "write_past",
    "write_plan",
    "write_ranges",
    "write_text",
]
