"""Who is at the door: nobody has to sign in on this machine alone; anywhere else everybody does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request
from pydantic import Field

from web.store.people import Role, account_of

COOKIE = "pit_session"


@dataclass(frozen=True, slots=True)
class Who:
    """Whoever asks for a page."""

    name: str
    """Empty where nobody signs in."""
    role: Role


class NotInError(Exception):
    """Nobody is signed in."""


class NotForYouError(Exception):
    """Signed in, but as something else."""


def who_is(request: Request) -> Who:
    """Who asks. NotInError if nobody is signed in and somebody has to be."""
    kitchen = request.app.state.kitchen
    if kitchen.settings.open_door:
        return Who("", "lead")
    word = request.cookies.get(COOKIE, "")
    account = account_of(kitchen.database, word, kitchen.settings.now(), kitchen.settings.idle) if word else None
    if account is None:
        raise NotInError
    return Who(account.name, account.role)


def _only(*roles: Role) -> Callable[[Request], Who]:
    def checked(request: Request) -> Who:
        who = who_is(request)
        if who.role not in roles:
            raise NotForYouError
        return who

    return checked


Number = Annotated[int, Field(ge=0, le=2**31 - 1)]
"""The number of a plan or a search, as far as every database counts."""
Lead = Annotated[Who, Depends(_only("lead"))]
Crew = Annotated[Who, Depends(_only("lead", "crew"))]
Anyone = Annotated[Who, Depends(_only("lead", "crew", "counter"))]
