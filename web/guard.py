"""Stands before every page: who may call, from where, with how much, and what a browser is told to allow.

Nothing here needs HTTPS: a phone on the kitchen's own network comes over plain HTTP, where a browser sends no
Sec-Fetch headers and keeps no cookie marked Secure.
"""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from web.settings import MOST_BODY_BYTES, Settings

SAFE = ("GET", "HEAD", "OPTIONS")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "manifest-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=()",
    "cache-control": "no-store",
}


def own_names(settings: Settings) -> frozenset[str]:
    """Host names by which the server answers, without ports."""
    names = {"localhost", "127.0.0.1", "[::1]", settings.host, *settings.names}
    if not settings.open_door:
        name = socket.gethostname().lower()
        names |= {name, f"{name}.local"}
    return frozenset(name.lower() for name in names)


def host_of(header: str) -> str:
    """The host of a Host header, without its port."""
    if header.startswith("["):
        return header.partition("]")[0].lower() + "]"
    return header.partition(":")[0].lower()


def is_own(host: str, names: Iterable[str], settings: Settings) -> bool:
    """True for the server's own names, and, where it can be reached from outside, for addresses.

    A page elsewhere can make a browser call a name that it owns and has pointed here, but never a bare address.
    """
    if host in names:
        return True
    if settings.open_door:
        return False
    try:
        ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return False
    return True


def same_origin(headers: Headers) -> bool:
    """True if a browser says that a page of this very server sent it. One that says nothing is not believed."""
    source = headers.get("origin") or headers.get("referer") or ""
    return source not in ("", "null") and urlsplit(source).netloc.lower() == headers.get("host", "").lower()


class _TooLargeError(Exception):
    pass


class Guard:
    """The checks, as a layer around the application."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.settings = settings
        self.names = own_names(settings)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        started = False

        async def dressed(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, dressed)
            return
        try:
            await self.app(scope, _capped(receive), dressed)
        except _TooLargeError:
            if not started:
                await _too_large()(scope, receive, dressed)

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        if not is_own(host_of(headers.get("host", "")), self.names, self.settings):
            return PlainTextResponse("This server does not answer by that name. Start it with --name.", 400)
        if scope["method"] not in SAFE and not same_origin(headers):
            return PlainTextResponse("This came from another page, so nothing was changed.", 403)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BODY_BYTES:
            return _too_large()
        return None


def _too_large() -> PlainTextResponse:
    return PlainTextResponse(f"That is more than {MOST_BODY_BYTES // 1_000_000} MB, so it was not read.", 413)


def _capped(receive: Receive) -> Receive:
    """The same body, cut off where it gets too large, whatever its header said."""
    read = 0

    async def counted() -> Message:
        nonlocal read
        message = await receive()
        read += len(message.get("body", b""))
        if read > MOST_BODY_BYTES:
            raise _TooLargeError
        return message

    return counted
