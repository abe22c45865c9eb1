"""Runs the server, and makes the first sign-in possible."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable
from contextlib import suppress

import uvicorn

from scheduler.errors import InputError, Problem
from web.app import create_app
from web.kitchen import Kitchen
from web.settings import Settings
from web.store.people import accounts, set_account

GRACE_S = 2
"""Open streams are not waited for longer than this when the server ends."""


def first_link(kitchen: Kitchen) -> str | None:
    """The path that signs the first lead in, if somebody must sign in and nobody can."""
    if kitchen.settings.open_door or any(a.role == "lead" and not a.gone for a in accounts(kitchen.database)):
        return None
    word = set_account(kitchen.database, "Lead", "lead", secrets.token_urlsafe(18), by="", at=kitchen.settings.now())
    return f"/link/{word}"


def address_of(host: str) -> str:
    """A name by which phones on the same network can call."""
    if host not in ("0.0.0.0", "::"):
        return f"[{host}]" if ":" in host else host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): nothing is sent
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def listening(host: str, port: int) -> socket.socket:
    """A socket that takes calls from now on, so that nothing is said or made for a place that is taken. InputError."""
    try:
        return socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as error:
        why = (error.strerror or str(error)).partition(" (")[0]
        mend = "end what listens there, or give another --host or --port"
        raise InputError(
            [Problem("the command", "", "", f"{host}, port {port}, cannot be used ({why})", mend)]
        ) from None


def serve(settings: Settings, say: Callable[[str], None]) -> None:
    """Serve until Ctrl-C. InputError if the scenario folder, the database or the port cannot be used."""
    with listening(settings.host, settings.port) as door:
        _serve(settings, say, door)


def _serve(settings: Settings, say: Callable[[str], None], door: socket.socket) -> None:
    app = create_app(settings)
    base = f"http://{address_of(settings.host)}:{settings.port}"
    say(f"Open {base}/ in a browser. The data are in {settings.address}. Ctrl-C ends it.")
    link = first_link(app.state.kitchen)
    if link is not None:
        say(f"Nobody can sign in yet. Open {base}{link} first and give yourself a password.")
    server = uvicorn.Server(
        uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=GRACE_S, server_header=False)
    )
    with suppress(KeyboardInterrupt):
        server.run(sockets=[door])
    if not server.started:
        raise SystemExit(1)  # it has said why
