"""Work done in a copy of this process, which knows all that this one does and shares none of its interpreter's time.

Another thread would: models are built in Python, which does one thing at a time.
"""

from __future__ import annotations

import os
import signal
import warnings
from collections.abc import Callable
from contextlib import suppress
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from typing import Generic, TypeVar, cast

T = TypeVar("T")


class Forked(Generic[T]):
    """One piece of work, begun at once; what comes of it is sent back, so it has to be plain data.

    The work has to know its end, as nobody ends it where this process is killed. Linux only, as this program is.
    """

    def __init__(self, work: Callable[[], T]) -> None:
        self._end, there = Pipe(duplex=False)
        with warnings.catch_warnings():
            # Newer Pythons warn where there are other threads. The copy has none of them, and waits for none.
            warnings.simplefilter("ignore", DeprecationWarning)
            self.process = os.fork()
        if self.process == 0:
            _do(work, there)
        there.close()

    def done(self) -> bool:
        """True if `result` need not wait."""
        return self._end.closed or self._end.poll()

    def result(self) -> T | None:
        """What came of it, once; what it raised is raised here. None if the system has killed it, as memory was
        short."""
        try:
            passed, outcome = self._end.recv()
        except EOFError:
            return None
        finally:
            self._close()
        if not passed:
            raise cast(Exception, outcome)
        return cast(T, outcome)

    def stop(self) -> None:
        """End it, done or not."""
        if not self._end.closed:
            with suppress(ProcessLookupError):
                os.kill(self.process, signal.SIGKILL)
            self._close()

    def _close(self) -> None:
        self._end.close()
        os.waitpid(self.process, 0)


def _do(work: Callable[[], object], there: Connection) -> None:
    """In the copy: work, send what came of it, and end without doing anything that is the other's to do."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            outcome = True, work()
        except Exception as error:
            outcome = False, error
        there.send(outcome)
    finally:
        os._exit(0)
