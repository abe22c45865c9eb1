"""The data: one writer, a copy that can be gone back to, and nothing acknowledged that a kill loses.

The same tests run on PostgreSQL where Debian's package is installed, on a server of their own.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from types import SimpleNamespace
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from solve.corner import corner
from sqlalchemy import event, inspect, make_url
from typer.testing import CliRunner
from web_server import copied, corner_plan, free_port, served, settings_of

from scheduler.cli import app
from scheduler.errors import InputError, OutputError
from web.feeds import feed_word
from web.kitchen import Kitchen
from web.settings import Settings
from web.store.database import MIGRATIONS, Database
from web.store.deeds import last_deeds, note_deed
from web.store.entries import NewEntry, add_entries, all_entries
from web.store.jobs import ask_job, change_job, job, own_up
from web.store.people import end_account, set_account
from web.store.plans import kept_plan, number_in_force, plan_lines
from web.store.scenarios import ChangedMeanwhileError, save_version, take_over
from web.store.tables import META
from web.store.uploads import first_answer

NOW = datetime(2026, 5, 16, 9, 30, tzinfo=UTC)
KILLS = 5
"""The benchmark of the web does it 200 times."""


def postgres_programs() -> Path | None:
    """The folder of initdb and pg_ctl, which Debian does not put on the path."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if found:
        return found[-1].parent
    there = shutil.which("initdb")
    return Path(there).parent if there else None


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """A PostgreSQL server for this run; skipped where it is not installed, except on CI."""
    programs = postgres_programs()
    if programs is None:
        if os.environ.get("CI"):
            pytest.fail("PostgreSQL is missing")
        pytest.skip("PostgreSQL is not installed")
    pytest.importorskip("psycopg")
    # Not under pytest's own folder: that is closed to others than root again whenever another run of tests begins.
    with TemporaryDirectory(prefix="pit-postgres-", ignore_cleanup_errors=True) as name:
        folder, port = Path(name), free_port()
        as_user: dict[str, Any] = {}
        if os.geteuid() == 0:  # the server refuses to run as root
            shutil.chown(folder, "nobody")
            as_user = {"user": "nobody"}
        data = folder / "data"
        quiet: dict[str, Any] = {"check": True, "capture_output": True, "cwd": folder, **as_user}
        subprocess.run([programs / "initdb", "-D", data, "-U", "pit", "--auth=trust", "--no-sync"], **quiet)
        options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1"
        log = folder / "log"
        subprocess.run([programs / "pg_ctl", "-D", data, "-o", options, "-l", log, "-w", "start"], **quiet)
        yield f"postgresql+psycopg://pit@127.0.0.1:{port}/postgres"
        subprocess.run([programs / "pg_ctl", "-D", data, "-m", "immediate", "stop"], **quiet)


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'kitchen.sqlite3'}"
        return
    found = request.getfixturevalue("postgres")
    yield found
    database = Database(found)
    with database.writing() as connection:
        META.drop_all(connection)
        connection.exec_driver_sql("DROP TABLE alembic_version")
    database.close()


@pytest.fixture
def kitchen(address: str, tmp_path: Path) -> Iterator[Kitchen]:
    found = Kitchen(Settings(folder=copied(tmp_path), database=address, now=lambda: NOW))
    yield found
    found.database.close()


def entry(number: int) -> NewEntry:
    return NewEntry(f"key-{number:08d}", NOW, "Ana", "done")


def test_the_tables_are_those_of_the_program_and_are_made_once(address: str) -> None:
    for _ in range(2):
        database = Database(address)
        tables = set(inspect(database.engine).get_table_names())
        assert tables == {*META.tables, "alembic_version"}
        for name, table in META.tables.items():
            columns = {column["name"] for column in inspect(database.engine).get_columns(name)}
            assert columns == {column.name for column in table.columns}
        database.close()


def test_the_migrations_come_to_the_tables_of_the_program(address: str) -> None:
    database = Database(address)
    with database.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), META) == []
    database.close()


def test_a_migration_says_its_columns_itself() -> None:
    """Tables made from those of today would have a later revision's column before that adds it."""
    for path in (MIGRATIONS / "versions").glob("*.py"):
        assert "web.store" not in path.read_text(encoding="utf-8")


def test_a_plan_comes_back_as_it_was_kept(kitchen: Kitchen) -> None:
    number = kitchen.keep(corner_plan(), corner(), kind="searched", by="Ana", pins=("BR01",))
    kept = kept_plan(kitchen.database, number)
    assert kept.plan == corner_plan().model_copy(update={"number": number})
    assert (kept.scenario, kept.pins, kept.breaches) == (corner(), ("BR01",), 0)
    assert number_in_force(kitchen.database) == number, "the first plan without a breach is in force"
    again = kitchen.keep(corner_plan(), corner(), kind="searched", by="Ana")
    assert (again, number_in_force(kitchen.database)) == (number + 1, number)
    assert [line.number for line in plan_lines(kitchen.database)] == [again, number]


def test_a_change_that_fails_leaves_nothing(kitchen: Kitchen) -> None:
    before = len(last_deeds(kitchen.database, 100))

    def half() -> None:
        with kitchen.database.writing() as connection:
            note_deed(connection, NOW, "Ana", "half done")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half()
    assert len(last_deeds(kitchen.database, 100)) == before


def test_many_writers_wait_for_each_other(kitchen: Kitchen) -> None:
    def write(first: int) -> None:
        for i in range(10):
            add_entries(kitchen.database, [entry(first + i)], None, NOW)

    threads = [threading.Thread(target=write, args=(100 * i,)) for i in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = all_entries(kitchen.database)
    assert len(kept) == 80
    assert sorted(e.id for e in kept) == [e.id for e in kept]


def test_of_two_versions_seen_at_once_one_is_saved(kitchen: Kitchen) -> None:
    version = take_over(kitchen.database, kitchen.settings)
    results: list[str] = []

    def save(name: str) -> None:
        try:
            save_version(kitchen.database, version.scenario, seen=version.number, by=name, what="x", at=NOW)
            results.append("saved")
        except ChangedMeanwhileError:
            results.append("told")

    threads = [threading.Thread(target=save, args=(f"person {i}",)) for i in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(results) == ["saved", "told", "told", "told", "told", "told"]


def test_what_ran_when_the_program_ended_says_so(kitchen: Kitchen) -> None:
    number = ask_job(kitchen.database, "plan", {"seconds": 1}, by="Ana", at=NOW)
    change_job(kitchen.database, number, state="running", progress={"cost_cents": 5})
    own_up(kitchen.database)
    found = job(kitchen.database, number)
    assert (found.state, found.progress, found.task) == ("broken off", {"cost_cents": 5}, {"seconds": 1})
    assert "started anew" in found.said


def test_a_copy_taken_in_use_can_be_gone_back_to(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    kitchen = Kitchen(Settings(folder=folder, now=lambda: NOW))
    kitchen.keep(corner_plan(), corner(), kind="searched", by="Ana")
    add_entries(kitchen.database, [entry(1)], 1, NOW)
    copy, data = tmp_path / "copy.sqlite3", folder / "kitchen.sqlite3"
    with kitchen.database.writing() as connection:
        note_deed(connection, NOW, "Ana", "in the middle of a change")
        run("copy", folder, copy)
    add_entries(kitchen.database, [entry(2)], 1, NOW)
    killed = {path.name: path.read_bytes() for path in folder.glob("kitchen.sqlite3*")}
    kitchen.database.close()
    for name, body in killed.items():  # as a kill leaves it, its write-ahead log beside it
        (folder / name).write_bytes(body)
    assert len(killed) == 3
    answer = run("copy", folder, copy, "--back")
    [before] = folder.glob("kitchen-before-*.sqlite3")
    assert before.name in answer
    assert [e.key for e in all_entries(Database(f"sqlite:///{before}"))] == ["key-00000001", "key-00000002"]
    back = Kitchen(Settings(folder=folder, now=lambda: NOW))
    assert [e.key for e in all_entries(back.database)] == ["key-00000001"]
    assert number_in_force(back.database) == 1
    assert not any(deed.what == "in the middle of a change" for deed in last_deeds(back.database, 100))
    add_entries(back.database, [entry(3)], 1, NOW)
    back.database.close()
    torn = tmp_path / "torn.sqlite3"
    torn.write_bytes(copy.read_bytes()[:9000])
    for bad in (torn, tmp_path / "nowhere.sqlite3"):
        assert "command copy" in run("copy", folder, bad, "--back", status=2)
    again = Database(f"sqlite:///{data}")
    assert [e.key for e in all_entries(again)] == ["key-00000001", "key-00000003"]
    again.close()


def run(*words: str | Path, status: int = 0) -> str:
    """What a command says."""
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code == status, done.output
    return done.output


def test_writers_take_the_database_at_once_and_are_on_the_disk_before_they_say_so(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path / 'kitchen.sqlite3'}")
    with database.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2, "FULL: a commit is synced"
    with told(database) as lines:
        add_entries(database, [entry(1)], None, NOW)
    assert lines[0] == "BEGIN IMMEDIATE"
    database.close()


LOGS = ("entries", "deeds", "plans", "scenarios", "in_force")


def test_what_a_person_wrote_down_is_never_changed(kitchen: Kitchen) -> None:
    """Whatever is done, logs only grow; an undo is one row more."""
    with told(kitchen.database) as lines:
        number = kitchen.keep(corner_plan(), corner(), kind="searched", by="Ana")
        add_entries(kitchen.database, [entry(1), entry(1), replace(entry(2), what="undo", undoes=1)], number, NOW)
        version = take_over(kitchen.database, kitchen.settings)
        save_version(kitchen.database, version.scenario, seen=version.number, by="Ana", what="x", at=NOW)
        set_account(kitchen.database, "Ben", "crew", "471100", by="Ana", at=NOW)
        end_account(kitchen.database, "Ben", by="Ana", at=NOW)
        change_job(kitchen.database, ask_job(kitchen.database, "plan", {}, by="Ana", at=NOW), state="done")
    changes = [line for line in lines if line.startswith(("UPDATE", "DELETE"))]
    assert changes, "people and jobs do change"
    assert [line for line in changes if line.split()[line.startswith("DELETE") + 1] in LOGS] == []
    assert {(deed.at, deed.by) for deed in last_deeds(kitchen.database, 6)} == {(NOW, "Ana")}
    assert [e.undone for e in all_entries(kitchen.database)] == [True, False]


def test_a_copy_that_cannot_be_taken_is_told_on_a_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OutputError("the copy could not be written: the disk is full")

    with served(settings_of(copied(tmp_path)), plan=False) as server, server.client() as client:
        monkeypatch.setattr("web.store.database.take_copy", full)
        answer = client.get("/copy.sqlite3")
        assert (answer.status_code, "the disk is full." in answer.text) == (409, True)
        engine = server.kitchen.database.engine
        monkeypatch.setattr(server.kitchen.database, "engine", SimpleNamespace(url=make_url("postgresql://pit@x/y")))
        with pytest.raises(InputError, match="use the tools"):
            server.kitchen.database.backup(tmp_path / "copy.sqlite3")
        monkeypatch.setattr(server.kitchen.database, "engine", engine)


def test_of_two_first_secrets_one_stands(kitchen: Kitchen) -> None:
    first = first_answer(kitchen.database, "secret", {"word": "a"}, NOW)
    assert first_answer(kitchen.database, "secret", {"word": "b"}, NOW) == first == {"word": "a"}
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("web.feeds.answer", lambda *_: None)  # both have looked before either wrote
        assert feed_word(kitchen, "Ana") == feed_word(kitchen, "Ana")


@contextmanager
def told(database: Database) -> Iterator[list[str]]:
    """What a database is told meanwhile."""
    lines: list[str] = []

    def hear(*said: Any) -> None:
        lines.append(said[2])

    event.listen(database.engine, "before_cursor_execute", hear)
    yield lines
    event.remove(database.engine, "before_cursor_execute", hear)


WRITER = """
import sys
from datetime import UTC, datetime
from web.store.database import MIGRATIONS, Database
from web.store.entries import NewEntry, add_entries
database, now = Database(sys.argv[1]), datetime(2026, 5, 16, tzinfo=UTC)
for i in range(int(sys.argv[2]), 10**8):
    add_entries(database, [NewEntry(f"key-{i:08d}", now, "", "done")], None, now)
    print(i, flush=True)
"""


def killed_while_writing(address: str, first: int, after: int, wait_s: float) -> int:
    """The last entry that a writer said was kept, before it was killed without warning after so many and a while."""
    root = str(Path(__file__).parents[2])
    child = subprocess.Popen(
        [sys.executable, "-c", WRITER, address, str(first)],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": root},
    )
    assert child.stdout is not None
    with child.stdout as said:
        for line in said:
            last = int(line)
            if last - first >= after:
                time.sleep(wait_s)
                child.send_signal(signal.SIGKILL)
                break
        last = max([last, *(int(line) for line in said if line.strip().isdigit())])
    child.wait()
    return last


def test_a_kill_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    address, rng, first = f"sqlite:///{tmp_path / 'kitchen.sqlite3'}", Random(0), 0
    for _ in range(KILLS):
        last = killed_while_writing(address, first, rng.randint(1, 40), rng.uniform(0, 0.01))
        database = Database(address)
        kept = {e.key for e in all_entries(database)}
        database.close()
        assert {f"key-{i:08d}" for i in range(last + 1)} <= kept
        first = len(kept)
