"""A finished plan to and from its folder, and what is said of it in a few lines."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

from scheduler.books import (
    publish,
    read_past,
    read_plan,
    read_scenario_dump,
    scenario_dump,
    scenario_hash,
    write_past,
    write_plan,
    write_text,
)
from scheduler.errors import InputError, OutputError, Problem
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.report.words import count_text, money_text, percent_text, pieces_text, wave_text

if TYPE_CHECKING:
    from scheduler.quantities.table import QuantityRow

PLAN = "plan.json"
SCENARIO = "scenario.json"
PAST = "past.json"


@contextmanager
def staged(out: Path) -> Iterator[Path]:
    """A folder to write into before anything shows in `out`; it is gone at the end.

    Made before the search, so that a place that cannot be written to is told at once. OutputError if so.
    """
    new = not out.exists()
    try:
        out.mkdir(parents=True, exist_ok=True)
        folder = Path(mkdtemp(prefix=".part-", dir=out))
    except OSError as error:
        raise OutputError(f"{out} cannot be written: {error.strerror or error}") from error
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        if new and not any(out.iterdir()):
            out.rmdir()


def write_into(
    folder: Path,
    out: Path,
    plan: Plan,
    scenario: Scenario,
    past: Past | None = None,
    more: Mapping[str, str] | None = None,
    worth: Sequence[QuantityRow] = (),
) -> list[Path]:
    """Write all files of a plan into a folder, then rename each into `out`; their paths there.

    `past` is what was fixed in a plan that was changed on the way, `more` are further texts by file name, `worth`
    is what is worth cooking where that was asked.
    """
    from scheduler.report import write_all

    write_plan(plan, folder / PLAN)
    write_text(folder / SCENARIO, scenario_dump(scenario))
    write_all(plan, scenario, folder, worth)
    if past is not None:
        write_past(past, folder / PAST)
    for name, text in (more or {}).items():
        write_text(folder / name, text)
    return publish(folder, out)


def read_pair(path: Path) -> tuple[Plan, Scenario]:
    """The plan at a path (the file, or its folder) and the scenario beside it. InputError if they do not belong."""
    file = path / PLAN if path.is_dir() else path
    plan = read_plan(file)
    scenario = read_scenario_dump(file.parent / SCENARIO)
    if scenario_hash(scenario) != plan.scenario_hash:
        what = f"its scenario has the hash {plan.scenario_hash}, that of {SCENARIO} is {scenario_hash(scenario)}"
        mend = f"put back the {SCENARIO} that was written with it, or plan again"
        raise InputError([Problem(file.name, "", "scenario_hash", what, mend)])
    return plan, scenario


def past_of(path: Path) -> Past | None:
    """What was fixed when the plan at a path was made on the way; None for one made before the weekend."""
    file = (path if path.is_dir() else path.parent) / PAST
    return read_past(file) if file.exists() else None


def summary(plan: Plan) -> str:
    """The plan in one line: loads, shorts, cost, gap."""
    pieces = sum(load.pieces for load in plan.loads)
    short = sum(s.pieces for s in plan.shorts)
    gap = plan.certificate.gap
    sure = "no bound was found"
    if gap is not None:
        sure = f"at most {percent_text(gap)} above the best on its grid"
    return (
        f"{count_text(pieces, 'piece')} in {count_text(len(plan.loads), 'load')}, {short} short, "
        f"{count_text(len(plan.shifts), 'shift')}, {count_text(len(plan.fires), 'fire')}, "
        f"cost {money_text(plan.cost.total)} ({sure})."
    )


def result_text(plan: Plan, files: list[Path]) -> str:
    """What `plan` says at its end."""
    lines = [f"Planned and audited, no breach: {summary(plan)}"]
    lines += [
        f"Short: {pieces_text(s.pieces, s.cut)} for {wave_text(s.wave, plan.clock)}: {s.why}" for s in plan.shorts
    ]
    return "\n".join(lines + [f"Wrote {file}" for file in files])


def result_data(plan: Plan, files: list[Path]) -> dict[str, Any]:
    """The same for a program."""
    return {
        "scenario": plan.scenario,
        "scenario_hash": plan.scenario_hash,
        "breaches": 0,
        "loads": len(plan.loads),
        "pieces": sum(load.pieces for load in plan.loads),
        "pieces_short": sum(s.pieces for s in plan.shorts),
        "shorts": [s.model_dump(mode="json") for s in plan.shorts],
        "cost_cents": plan.cost.model_dump(mode="json") | {"total": plan.cost.total},
        "certificate": plan.certificate.model_dump(mode="json"),
        "files": [str(file) for file in files],
    }
