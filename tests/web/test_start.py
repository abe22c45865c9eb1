"""What keeps the program from serving is one sentence, and nothing is made or said before it."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest
from typer.testing import CliRunner
from web_server import copied, free_port

from scheduler.cli import app
from web.settings import DATABASE


@pytest.mark.parametrize("given", ["nonsense", "mysql://x:hidden@y/z", "sqlite:////nowhere/x", "sqlite://", ""])
def test_data_that_cannot_be_opened_are_told_in_one_sentence(given: str, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (folder / DATABASE).write_text("no database" * 100, encoding="utf-8")
    words = ["serve", str(folder), "--port", str(free_port()), *(["--database", given] if given else [])]
    told = CliRunner().invoke(app, words)
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.startswith("the database: ")
    assert told.stderr.count("\n") == 1
    assert "hidden" not in told.stderr


def test_a_port_that_is_taken_is_told_before_anything_is_made(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        told = CliRunner().invoke(app, ["serve", str(folder), "--port", str(port)])
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.startswith(f"the command: 127.0.0.1, port {port}, cannot be used (Address already in use); ")
    assert not (folder / DATABASE).exists()
