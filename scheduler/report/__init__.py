"""What the crew gets: the crew plan on paper or a phone, the loads for a spreadsheet, the shifts for calendars.

The templates and the calendar library are loaded only when something is written, because the terminal shares the words.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

if TYPE_CHECKING:
    from scheduler.quantities.table import QuantityRow

CREW_PLAN = "crew-plan.html"
LOADS = "loads.csv"
SHIFTS = "shifts.ics"

__all__ = ["CREW_PLAN", "LOADS", "SHIFTS", "write_all"]


def write_all(plan: Plan, scenario: Scenario, out: Path, worth: Sequence[QuantityRow] = ()) -> list[Path]:
    """Writes the crew plan, the loads and the calendar into a folder, and returns their paths.

    `worth` is what is worth cooking, for a plan that came from that question; the crew plan then has a sheet of it.

    All three are made before the first is written, so that a mistake in one leaves the folder as it was. OutputError
    if a file cannot be written.
    """
    from scheduler.books import write_text
    from scheduler.report.desk import Desk
    from scheduler.report.loads_csv import loads_csv
    from scheduler.report.page import page_html
    from scheduler.report.shifts_ics import shifts_ics
    from scheduler.report.worth_sheet import worth_sheet

    desk = Desk(plan, scenario)
    page = page_html(desk, worth=worth_sheet(worth, plan.clock))
    texts = {CREW_PLAN: page, LOADS: loads_csv(desk), SHIFTS: shifts_ics(desk)}
    for name, text in texts.items():
        write_text(out / name, text)
    return [out / name for name in texts]
