"""Work in a copy of this process: what comes of it, what goes wrong in it, and its end."""

from __future__ import annotations

import os
import signal
import time

import pytest

from scheduler.reshuffle.forked import Forked, Tell


def test_what_comes_of_it_is_sent_back_and_changes_nothing_here() -> None:
    here: list[int] = []

    def work(_: Tell) -> tuple[int, list[int]]:
        here.append(1)
        return os.getpid(), here

    process, there = Forked(work).result() or (0, [])
    assert process != os.getpid()
    assert there == [1]
    assert here == []


def test_what_it_raises_is_raised_here() -> None:
    def wrong(_: Tell) -> None:
        raise ArithmeticError("there")

    with pytest.raises(ArithmeticError, match="there"):
        Forked(wrong).result()


def test_it_is_done_when_it_has_sent_something() -> None:
    waiting, sent = os.pipe()
    work = Forked(lambda _: os.read(waiting, 1))
    assert not work.done(0.05)
    os.write(sent, b"x")
    assert work.done(30.0)
    assert work.result() == b"x"
    os.close(waiting)
    os.close(sent)


def test_it_tells_how_it_gets_on_before_it_is_done() -> None:
    waiting, sent = os.pipe()

    def work(tell: Tell) -> bytes:
        tell(2.0)
        tell(3.5)
        return os.read(waiting, 1)

    forked = Forked(work)
    assert forked.told(30.0) is not None
    assert not forked.done(0.2)
    assert forked.told() == 3.5
    os.write(sent, b"x")
    assert forked.result() == b"x"
    os.close(waiting)
    os.close(sent)


def test_who_tells_nothing_is_not_waited_for_once_done() -> None:
    work = Forked(lambda _: 7)
    assert work.told(30.0) is None
    assert work.result() == 7


def test_it_can_be_stopped_and_leaves_no_process_behind() -> None:
    work = Forked(lambda _: time.sleep(600))
    work.stop()
    work.stop()
    with pytest.raises(ChildProcessError):
        os.waitpid(work.process, 0)


def test_nothing_comes_of_it_where_the_system_kills_it() -> None:
    work = Forked(lambda _: time.sleep(600))
    os.kill(work.process, signal.SIGKILL)
    assert work.result() is None
