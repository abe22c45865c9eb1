"""Results of a benchmark as a file, and whether they can all be true together."""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from scheduler.bench.outcome import Record
from scheduler.books.files import read_json, refuse, write_text

FORMAT = 1
PACKAGES = ("highspy", "ortools", "pyjobshop", "numpy")
CPU = Path("/proc/cpuinfo")


@dataclass(frozen=True, slots=True)
class Results:
    """All runs of one benchmark, and where they ran."""

    machine: dict[str, str]
    records: tuple[Record, ...]

    def write(self, path: Path) -> None:
        """As JSON, whole or not at all; a line for each run, so that two files can be compared line by line."""
        head = json.dumps({"format": FORMAT, "machine": self.machine})[1:-1]
        lines = ",\n".join(json.dumps(record.data()) for record in self.records)
        write_text(path, f'{{{head}, "records": [\n{lines}\n]}}\n')


def read_results(path: Path) -> Results:
    """Results that were written before. InputError if the file is not of them."""
    data: dict[str, Any] = read_json(path)
    try:
        if data["format"] != FORMAT:
            raise ValueError(data["format"])
        return Results(dict(data["machine"]), tuple(Record.of(record) for record in data["records"]))
    except (KeyError, TypeError, ValueError, AttributeError):
        mend = "give a file that bench --json wrote"
        raise refuse(path.name, "does not hold results of this benchmark", mend) from None


def machine() -> dict[str, str]:
    """What the figures depend on besides the program: machine, versions, date, and how busy it was at the start."""
    found = {
        "date": f"{datetime.now():%Y-%m-%d}",
        "processor": _processor(),
        "cores": str(os.cpu_count()),
        "load at the start": f"{os.getloadavg()[0]:.1f}",
        "python": platform.python_version(),
    }
    for package in PACKAGES:
        try:
            found[package] = version(package)
        except PackageNotFoundError:
            found[package] = "not installed"
    return found


def _processor() -> str:
    try:
        for line in CPU.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    except OSError:
        pass
    return platform.machine()


def contradictions(*some: Results) -> Iterator[str]:
    """Plans that cost less than a bound on the same weekend and grid: one of the two must be wrong."""
    runs = [record for results in some for record in results.records]
    for (case, _, _), same in _by_weekend(runs).items():
        bounds = [r for r in same if r.bound_cents is not None]
        plans = [r for r in same if r.cents is not None]
        if not bounds or not plans:
            continue
        bound = max(bounds, key=lambda r: r.bound_cents or 0)
        plan = min(plans, key=lambda r: r.cents or 0)
        if (plan.cents or 0) < (bound.bound_cents or 0):
            yield (
                f"{case}: {plan.method} has a plan at {plan.cents} cents, "
                f"and by {bound.method} none costs less than {bound.bound_cents}"
            )


def changed(now: Results, before: Results) -> list[str]:
    """Weekends by name that were another weekend when the earlier results were made, so that nothing is compared."""
    old = {(r.case, r.scenario_hash) for r in before.records}
    names = {case for case, _ in old}
    return sorted({r.case for r in now.records if r.case in names and (r.case, r.scenario_hash) not in old})


def _by_weekend(records: Iterable[Record]) -> dict[tuple[str, str, int], list[Record]]:
    found: dict[tuple[str, str, int], list[Record]] = {}
    for record in records:
        found.setdefault((record.case, record.scenario_hash, record.grid_min), []).append(record)
    return found
