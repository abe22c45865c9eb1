"""A server of the corner kitchen for the tests of the web, with a plan in force and the clock at half past four."""

from __future__ import annotations

import re
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

import httpx
import uvicorn
from solve.corner import SCENARIOS, corner, finished

from scheduler.model.plan import Plan
from web.app import create_app
from web.kitchen import Kitchen
from web.settings import Settings, practice_clock

SATURDAY = datetime(2026, 5, 16)


@cache
def corner_plan() -> Plan:
    """A plan of the corner kitchen that the audit passes."""
    return finished(corner())[0]


def copied(folder: Path) -> Path:
    """The corner kitchen in a folder of its own."""
    return Path(shutil.copytree(SCENARIOS / "corner-saturday", folder / "corner"))


def settings_of(folder: Path, hour: int = 4, minute: int = 30, **more: Any) -> Settings:
    """Settings for tests; the clock is at an hour of the Saturday."""
    at = corner().weekend.local(SATURDAY.replace(hour=hour, minute=minute))
    return Settings(folder=folder, now=practice_clock(at), practice=True, **more)


@dataclass(frozen=True)
class Served:
    """A server that runs."""

    url: str
    kitchen: Kitchen

    def client(self, **more: Any) -> httpx.Client:
        """A browser's stand-in: it names the page that it comes from."""
        headers = {"origin": self.url, "accept": "text/html", **more.pop("headers", {})}
        return httpx.Client(base_url=self.url, headers=headers, timeout=60, **more)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def served(settings: Settings, *, plan: bool = True) -> Iterator[Served]:
    """Serve, with the corner plan in force unless it is not wanted."""
    app = create_app(settings)
    kitchen: Kitchen = app.state.kitchen
    if plan:
        kitchen.keep(corner_plan(), corner(), kind="searched", by="")
    port = free_port()
    server = uvicorn.Server(
        uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error", timeout_graceful_shutdown=1)
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    try:
        yield Served(f"http://127.0.0.1:{port}", kitchen)
    finally:
        server.should_exit = True
        thread.join(timeout=20)


def values_in(html: str) -> dict[str, str]:
    """Names and values of the fields of a page, as a browser would send them."""
    found = {}
    for tag in re.findall(r"<input[^>]*>", html):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and 'type="checkbox"' not in tag:
            found[name[1]] = value[1] if value else ""
    for name, options in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', html, re.DOTALL):
        chosen = re.search(r"<option[^>]*selected[^>]*>([^<]*)", options)
        found[name] = chosen[1].strip() if chosen else ""
    return found
