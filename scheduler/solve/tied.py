"""Processes that end with the one that started them, however that ends: killed, it ends none of its children itself."""

from __future__ import annotations

import os
from multiprocessing import parent_process
from multiprocessing.connection import wait
from threading import Thread


def end_with_parent() -> None:
    """To be called first in a process of its own. HiGHS lets the thread run, as it leaves the interpreter."""
    parent = parent_process()
    if parent is not None:
        Thread(target=_end_after, args=(parent.sentinel,), daemon=True).start()


def _end_after(sentinel: int) -> None:
    wait([sentinel])
    os._exit(0)
