"""Work done in a copy of this process, which knows all that this one does and shares none of its interpreter's time.

Another thread would: models are built in Python, which does one thing at a time.
"""

from __future__ import annotations

import os
import signal
import time
import warnings
from collections.abc import Callable
from contextlib import suppress
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from typing import Generic, TypeVar, cast

T = TypeVar("T")
Tell = Callable[[float], None]
"""By which the work says on its way how it is getting on."""


class Forked(Generic[T]):
    """One piece of work, begun at once; what comes of it is sent back, so it has to be plain data.

    The work has to know its end, as nobody ends it where this process is killed. Linux only, as this program is.
    """

    def __init__(self, work: Callable[[Tell], T]) -> None:
        self._end, there = Pipe(duplex=False)
        self._told: float | None = None
        self._outcome: tuple[T | None, Exception | None] | None = None
        with warnings.catch_warnings():
            # Newer Pythons warn where there are other threads. The copy has none of them, and waits for none.
            warnings.simplefilter("ignore", DeprecationWarning)
            self.process = os.fork()
        if self.process == 0:
            _do(work, there)
        there.close()

    def done(self, patience_s: float = 0.0) -> bool:
        """True if `result` need not wait; it is waited for so long."""
        until_s = time.monotonic() + patience_s
        while self._outcome is None and self._end.poll(max(0.0, until_s - time.monotonic())):
            self._hear()
        return self._outcome is not None

    def told(self, patience_s: float = 0.0) -> float | None:
        """What it told last; None if it tells nothing in so many seconds, or ends first."""
        until_s = time.monotonic() + patience_s
        while self._told is None and self._outcome is None and self._end.poll(max(0.0, until_s - time.monotonic())):
            self._hear()
        return self._told

    def result(self) -> T | None:
        """What came of it; what it raised is raised here. None if it was stopped, or the system has killed it because
        memory was short."""
        while self._outcome is None:
            self._hear()
        outcome, error = self._outcome
        if error is not None:
            raise error
        return outcome

    def stop(self) -> None:
        """End it, done or not."""
        if self._outcome is None:
            with suppress(ProcessLookupError):
                os.kill(self.process, signal.SIGKILL)
            self._over(None, None)

    def _hear(self) -> None:
        try:
            kind, what = self._end.recv()
        except EOFError:
            self._over(None, None)
            return
        if kind == "told":
            self._told = what
        elif kind == "raised":
            self._over(None, what)
        else:
            self._over(cast(T, what), None)

    def _over(self, outcome: T | None, error: Exception | None) -> None:
        self._outcome = outcome, error
        self._end.close()
        os.waitpid(self.process, 0)


def _do(work: Callable[[Tell], object], there: Connection) -> None:
    """In the copy: work, send what came of it, and end without doing anything that is the other's to do."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            there.send(("done", work(lambda what: there.send(("told", what)))))
        except Exception as error:
            there.send(("raised", error))
    finally:
        os._exit(0)
