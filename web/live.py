"""Runs the searches that were asked for, one at a time, each in a process of its own, and knows how each stands."""

from __future__ import annotations

import json
import logging
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from web.settings import Settings
from web.store.database import Database
from web.store.jobs import OPEN, Job, change_job, drop, job, jobs_in, own_up, take_up

ROOT = Path(__file__).parents[1]
POLL_S = 0.5
TROUBLE_S = 5.0
"""How long the line waits where not even a failure can be written down."""
KEEP_EVERY_S = 2.0
"""How often the progress goes to the database, for those who look at it after a restart."""
GRACE_S = 60.0
"""A search that was told to stop and has not ended by then is ended."""

LONG = ("plan", "around")
"""Kinds of searches that can be told to stop and keep their best."""
LOG = logging.getLogger(__name__)

Finish = Callable[[Job, dict[str, Any]], tuple[int | None, str]]
"""Keeps an answer: the number of the plan, if it is one, and what is said of it."""


class Line:
    """The line of searches."""

    def __init__(self, database: Database, settings: Settings, finish: Finish) -> None:
        self.database = database
        self.settings = settings
        self.finish = finish
        self._live: dict[int, dict[str, Any]] = {}
        self._running: tuple[int, subprocess.Popen[str]] | None = None
        self._failed: tuple[int, str] | None = None
        """A search whose failure is not written down yet, with what is said of it."""
        self._woken = threading.Event()
        self._ends = False
        self._thread = threading.Thread(target=self._run, name="searches", daemon=True)

    def start(self) -> None:
        """Own up to what was broken off, and go to work."""
        own_up(self.database)
        self._thread.start()

    def close(self) -> None:
        """End the search that runs; it is told as broken off at the next start."""
        self._ends = True
        self._woken.set()
        running = self._running
        if running is not None:
            running[1].terminate()
        if self._thread.is_alive():
            self._thread.join(timeout=5)

    def wake(self, urgent: bool = False) -> None:
        """Something was asked for. What is urgent does not wait for a long search: that one ends with its best."""
        running = self._running
        if urgent and running is not None and job(self.database, running[0]).kind in LONG:
            self.stop(running[0])
        self._woken.set()

    def stop(self, number: int) -> None:
        """Stop a search and keep the best of it; one that waits is dropped."""
        if drop(self.database, number) or job(self.database, number).state != "running":
            return
        self._live.setdefault(number, {})["stopping"] = True
        running = self._running
        if running is not None and running[0] == number:
            self._stop(running[1])

    def _stop(self, child: subprocess.Popen[str]) -> None:
        _tell(child, "stop")
        patience = threading.Timer(GRACE_S, child.terminate)
        patience.daemon = True
        patience.start()

    def standing(self, number: int) -> dict[str, Any]:
        """How a search stands, for its page. LookupError if there is none of that number."""
        found = job(self.database, number)
        others = jobs_in(self.database, *OPEN)
        ahead = sum(1 for other in others if other.state == "running" or _turn(other) < _turn(found))
        live = {**found.progress, **self._live.get(number, {})}
        open_ = found.state in OPEN
        if found.state == "running" and "began" in live:
            live["seconds"] = time.monotonic() - live["began"]
        return {
            "id": number,
            "kind": found.kind,
            "state": found.state,
            "open": open_,
            "ahead": ahead if found.state == "waiting" else 0,
            "progress": live,
            "plan": found.plan,
            "said": found.said,
        }

    # the thread ------------------------------------------------------------------------------------------------------

    def _run(self) -> None:
        while not self._ends:
            try:
                self._next()
            except Exception:  # such as a full disk: pages go on putting searches in line, so the line waits for room
                LOG.exception("the line of searches")
                self._pause(TROUBLE_S)

    def _pause(self, seconds: float) -> None:
        self._woken.wait(seconds)
        self._woken.clear()

    def _next(self) -> None:
        self._own_up_to_failed()
        waiting = sorted(jobs_in(self.database, "waiting"), key=_turn)
        if not waiting:
            self._pause(POLL_S)
            return
        try:
            self._do(waiting[0])
        except Exception as error:  # whatever one search does, the line goes on
            LOG.exception("search %d", waiting[0].id)
            self._failed = waiting[0].id, f"The answer could not be kept: {error}"
            self._own_up_to_failed()

    def _own_up_to_failed(self) -> None:
        """Say of a search that it failed; again before the next one, where that could not be written down."""
        if self._failed is not None:
            number, said = self._failed
            change_job(self.database, number, state="failed", said=said)
            self._failed = None

    def _do(self, found: Job) -> None:
        if not take_up(self.database, found.id):
            return
        live = self._live.setdefault(found.id, {})
        live.update({"began": time.monotonic(), "seconds_asked": found.task.get("seconds")})
        child = subprocess.Popen(
            [sys.executable, "-m", "web.worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])},
        )
        _tell(child, json.dumps({**found.task, "kind": found.kind}))
        self._running = found.id, child
        if live.get("stopping"):  # somebody was quicker than the start
            self._stop(child)
        try:
            said = self._heard(found, child)
        except BaseException:
            child.terminate()
            raise
        finally:
            self._running = None
            child.wait()
            for stream in (child.stdin, child.stdout):
                if stream is not None:
                    stream.close()
        if not self._ends:
            self._close(found, said)

    def _heard(self, found: Job, child: subprocess.Popen[str]) -> dict[str, Any]:
        """The last word of a search."""
        last: dict[str, Any] = {}
        kept_at = time.monotonic()
        assert child.stdout is not None
        for line in child.stdout:
            try:
                data = json.loads(line)
            except ValueError:
                continue
            if "progress" in data:
                self._live[found.id].update(data["progress"])
                if time.monotonic() - kept_at > KEEP_EVERY_S:
                    change_job(self.database, found.id, progress=data["progress"])
                    kept_at = time.monotonic()
            elif "first" in data:
                number, said = self.finish(found, data["first"])
                self._live[found.id].update({"first": number, "note": said})
            else:
                last = data
        return last

    def _close(self, found: Job, said: dict[str, Any]) -> None:
        live = self._live.get(found.id, {})
        progress = {name: value for name, value in live.items() if name != "began"}
        if "answer" in said:
            number, text = self.finish(found, said["answer"])
            change_job(self.database, found.id, state="done", plan=number, said=text, progress=progress)
            return
        kept = f"plan {live['first']} is its first one" if live.get("first") else "nothing was changed"
        text = "\n".join(said.get("problems", [])) or f"The search ended without an answer; {kept}."
        change_job(self.database, found.id, state="failed", said=text, progress=progress)


def _turn(found: Job) -> tuple[bool, int]:
    """Order of the line: what is to be done about the pit now goes first."""
    return found.kind != "reshuffle", found.id


def _tell(child: subprocess.Popen[str], line: str) -> None:
    """A line to a search; nothing if it has just ended."""
    try:
        assert child.stdin is not None
        child.stdin.write(line + "\n")
        child.stdin.flush()
    except (BrokenPipeError, ValueError):
        pass
