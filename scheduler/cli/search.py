"""Runs the solver beside a progress line, so that Ctrl-C can end the search and keep the best plan."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Protocol

from rich.console import Console
from rich.live import Live
from rich.text import Text

from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.report.words import count_text, money_text, percent_text

WAIT_S = 0.1
QUIET_S = 5.0
"""Seconds between two lines of progress where they cannot overwrite each other."""


class Progress(Protocol):
    """What the solver tells its listener."""

    @property
    def seconds(self) -> float: ...
    @property
    def cost_cents(self) -> int | None: ...
    @property
    def bound_cents(self) -> int | None: ...
    @property
    def gap(self) -> float | None: ...
    @property
    def pieces_short(self) -> int | None: ...
    @property
    def note(self) -> str: ...


def search(scenario: Scenario, *, seconds: float, seed: int, grid_min: int) -> Plan:
    """The best plan found in time. KeyboardInterrupt if Ctrl-C is pressed a second time."""
    from scheduler.solve import plan_weekend

    stop = threading.Event()
    latest = _Latest()

    def work() -> Plan:
        return plan_weekend(scenario, seconds=seconds, seed=seed, grid_min=grid_min, listener=latest.hear, stop=stop)

    with _ctrl_c_sets(stop):
        job = _Job(work)
        _watch(job, latest, seconds, stop)
    return job.result()


class _Latest:
    """The last thing heard; the solver speaks from threads of its own."""

    def __init__(self) -> None:
        self.progress: Progress | None = None

    def hear(self, progress: Progress) -> None:
        self.progress = progress


class _Job:
    """A function that runs on its own thread, so that the main thread is free for Ctrl-C."""

    def __init__(self, work: Callable[[], Plan]) -> None:
        self._work = work
        self._plan: Plan | None = None
        self._error: BaseException | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            self._plan = self._work()
        except BaseException as error:
            self._error = error

    def running(self, wait_s: float) -> bool:
        """True if it still runs after that many seconds."""
        self._thread.join(wait_s)
        return self._thread.is_alive()

    def result(self) -> Plan:
        """What the function returned, or raised."""
        self._thread.join()
        if self._error is not None:
            raise self._error
        if self._plan is None:
            raise RuntimeError("the search ended without a plan")
        return self._plan


@contextmanager
def _ctrl_c_sets(stop: threading.Event) -> Iterator[None]:
    """The first Ctrl-C sets the event, the second is the usual interrupt."""

    def interrupt(number: int, frame: FrameType | None) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _watch(job: _Job, latest: _Latest, seconds: float, stop: threading.Event) -> None:
    console = Console(stderr=True, markup=False, highlight=False, emoji=False)
    started = time.monotonic()

    def line() -> str:
        return progress_line(latest.progress, time.monotonic() - started, seconds, stop.is_set())

    if console.is_terminal:
        with Live(Text(line()), console=console, transient=True, auto_refresh=False) as live:
            while job.running(WAIT_S):
                live.update(Text(line(), no_wrap=True, overflow="ellipsis"), refresh=True)
        return
    spoken, said = 0.0, None
    while job.running(WAIT_S):
        now = time.monotonic()
        if latest.progress is not said and now - spoken >= QUIET_S:
            console.print(line(), soft_wrap=True)
            spoken, said = now, latest.progress


def progress_line(progress: Progress | None, elapsed_s: float, seconds: float, stopping: bool) -> str:
    """How the search stands, in one line."""
    parts = [f"{elapsed_s:.0f} of {seconds:.0f} s"]
    if progress is not None and progress.cost_cents is not None:
        parts.append(f"best {money_text(progress.cost_cents)}")
        if progress.pieces_short is not None:
            parts.append(f"{count_text(progress.pieces_short, 'piece')} short")
    if progress is not None and progress.bound_cents is not None:
        parts.append(f"at least {money_text(progress.bound_cents)}")
    if progress is not None and progress.gap is not None:
        parts.append(f"gap {percent_text(progress.gap)}")
    if progress is not None and progress.note:
        parts.append(progress.note)
    parts.append("stopping, the best is kept" if stopping else "Ctrl-C keeps the best")
    return ", ".join(parts)
