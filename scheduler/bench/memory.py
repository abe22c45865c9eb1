"""Peak memory of this process and of those that it starts, and how much of the machine they had, by Linux's books."""

from __future__ import annotations

import os
import resource
import time
from collections.abc import Callable
from pathlib import Path
from threading import Event, Thread

EVERY_S = 0.1
PROC = Path("/proc")


class Watch:
    """Looks now and then at what the process takes, and does something else beside it."""

    def __init__(self, also: Callable[[], None] = lambda: None) -> None:
        self._also = also
        self._peaks: dict[int, int] = {}
        self.cores = 0.0
        """Cores that it had on the average; below what it could use, the machine was busy with other things."""
        self._began = time.monotonic(), _cpu_s()
        self._stop = Event()
        self._thread = Thread(target=self._run, daemon=True)

    def __enter__(self) -> Watch:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._stop.set()
        self._thread.join()
        self._look()
        wall_s, cpu_s = self._began
        self.cores = round((_cpu_s() - cpu_s) / max(0.01, time.monotonic() - wall_s), 2)

    @property
    def megabytes(self) -> int:
        """Peaks of all processes seen, added up: at least what was taken at any one moment."""
        return round(sum(self._peaks.values()) / 1024)

    def _run(self) -> None:
        while not self._stop.wait(EVERY_S):
            self._look()

    def _look(self) -> None:
        for pid in _family(os.getpid()):
            self._peaks[pid] = max(self._peaks.get(pid, 0), _peak_kb(pid))
        self._also()


def _cpu_s() -> float:
    """Seconds of processor that this process, and those that it started and that have ended, have had."""
    whose = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(used.ru_utime + used.ru_stime for used in map(resource.getrusage, whose))


def _family(pid: int) -> list[int]:
    """A process and all that it started, directly or not."""
    found, todo = [], [pid]
    while todo:
        now = todo.pop()
        found.append(now)
        for file in _children_files(now):
            try:
                todo += [int(word) for word in file.read_text().split()]
            except OSError:
                continue  # it has just ended
    return found


def _children_files(pid: int) -> list[Path]:
    try:
        return [task / "children" for task in (PROC / str(pid) / "task").iterdir()]
    except OSError:
        return []


def _peak_kb(pid: int) -> int:
    try:
        for line in (PROC / str(pid) / "status").read_text().splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1])
    except OSError:
        pass
    return 0
