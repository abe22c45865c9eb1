"""Signing in by name and PIN or password, or by a link; and who may."""

from __future__ import annotations

import secrets
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from web.door import COOKIE, Anyone, Lead, Who
from web.posted import posted_form
from web.show import kitchen_of, page
from web.store.deeds import last_deeds
from web.store.people import (
    ROLES,
    Account,
    accounts,
    check_secret,
    close_session,
    end_account,
    locked,
    name_of_link,
    open_session,
    set_account,
    wrong_guess,
)

router = APIRouter()

LEAST = {"lead": 10, "crew": 6, "counter": 6}
"""Letters or digits of a secret at least, by role."""
MOST_LETTERS = 200
SHOWN_DEEDS = 60


@dataclass(frozen=True, slots=True)
class SignInPage:
    """Context of the page."""

    to: str
    name: str
    mistake: str


@dataclass(frozen=True, slots=True)
class DeedLine:
    """One change."""

    at: str
    by: str
    what: str
    detail: str


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """Context of the page of those who may sign in."""

    people: tuple[Account, ...]
    names: tuple[str, ...]
    roles: tuple[str, ...]
    mistake: str
    link: str
    link_of: str
    deeds: tuple[DeedLine, ...]


def _inside(to: str) -> str:
    """A path of this server and nothing else."""
    return to if to.startswith("/") and not to.startswith(("//", "/\\")) else "/"


def _signed_in(request: Request, name: str, to: str) -> Response:
    kitchen = kitchen_of(request)
    word = open_session(kitchen.database, name, kitchen.settings.now())
    answer = RedirectResponse(_inside(to), 303)
    secure = request.url.scheme == "https"
    age = int(kitchen.settings.idle.total_seconds())
    answer.set_cookie(COOKIE, word, max_age=age, httponly=True, samesite="lax", secure=secure)
    return answer


def _caller(request: Request) -> str:
    return request.client.host if request.client else "?"


@router.get("/sign-in")
def sign_in(request: Request, to: str = "/") -> HTMLResponse:
    """The form."""
    return page(request, Who("", "counter"), "Sign in", "sign_in.html", SignInPage(_inside(to), "", ""))


@router.post("/sign-in")
async def enter(request: Request) -> Response:
    """Sign in, or say that it was wrong."""
    posted = await posted_form(request)
    return await run_in_threadpool(_enter, request, posted)


def _enter(request: Request, posted: dict[str, str]) -> Response:
    kitchen = kitchen_of(request)
    name, now = posted.get("name", "").strip()[:40], kitchen.settings.now()
    keys = (f"name {name}"[:80], f"from {_caller(request)}"[:80])
    to = _inside(posted.get("to", "/"))
    if any(locked(kitchen.database, key, now) for key in keys):
        said = "Too many wrong guesses. Wait a quarter of an hour, or ask the lead for a link."
        return page(request, Who("", "counter"), "Sign in", "sign_in.html", SignInPage(to, name, said), 429)
    if not check_secret(kitchen.database, name, posted.get("secret", "")[:MOST_LETTERS]):
        for key in keys:
            wrong_guess(kitchen.database, key, now)
        said = "That name and PIN do not belong together."
        return page(request, Who("", "counter"), "Sign in", "sign_in.html", SignInPage(to, name, said), 401)
    return _signed_in(request, name, to)


@router.get("/link/{word}")
def by_link(request: Request, word: str) -> HTMLResponse:
    """A link shows a button: what opens links to look at them beforehand does not press it."""
    return page(request, Who("", "counter"), "Sign in", "link.html", SignInPage("/", word[:80], ""))


@router.post("/link/{word}")
def follow(request: Request, word: str) -> Response:
    """Sign in by a link."""
    kitchen = kitchen_of(request)
    key, now = f"from {_caller(request)}"[:80], kitchen.settings.now()
    name = None if locked(kitchen.database, key, now) else name_of_link(kitchen.database, word)
    if name is None:
        wrong_guess(kitchen.database, key, now)
        said = "This link does not work any more. Ask the lead for a new one."
        return page(request, Who("", "counter"), "Sign in", "sign_in.html", SignInPage("/", "", said), 401)
    lead = any(a.name == name and a.role == "lead" for a in accounts(kitchen.database))
    return _signed_in(request, name, "/people" if lead else "/")


@router.post("/sign-out")
def leave(request: Request, who: Anyone) -> Response:
    """Sign out."""
    close_session(kitchen_of(request).database, request.cookies.get(COOKIE, ""))
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(COOKIE)
    return answer


def _people(
    request: Request, who: Who, mistake: str = "", link: str = "", link_of: str = "", status: int = 200
) -> HTMLResponse:
    kitchen = kitchen_of(request)
    scenario = kitchen.weekend().scenario
    deeds = tuple(
        DeedLine(kitchen.moment(deed.at, scenario), deed.by, deed.what, deed.detail[:200])
        for deed in last_deeds(kitchen.database, SHOWN_DEEDS)
    )
    names = tuple(person.name for person in scenario.crew.people)
    context = PeoplePage(accounts(kitchen.database), names, ROLES, mistake, link, link_of, deeds)
    return page(request, who, "People", "people.html", context, status)


@router.get("/people")
def people(request: Request, who: Lead) -> HTMLResponse:
    """Who may sign in, and what was changed by whom."""
    return _people(request, who)


@router.post("/people")
async def change(request: Request, who: Lead) -> Response:
    """Add a person, give a new PIN and link, or let nobody in by that name any more."""
    posted = await posted_form(request)
    return await run_in_threadpool(_change, request, who, posted)


def _change(request: Request, who: Who, posted: dict[str, str]) -> Response:
    kitchen = kitchen_of(request)
    at, name = kitchen.settings.now(), posted.get("name", "").strip()[:40]
    if posted.get("press") == "end":
        if name == who.name:
            return _people(request, who, "You cannot shut yourself out.", status=422)
        end_account(kitchen.database, name, by=who.name, at=at)
        return RedirectResponse("/people", 303)
    role = next((role for role in ROLES if role == posted.get("role")), None)
    secret = posted.get("secret", "").strip()[:MOST_LETTERS]
    if not name or role is None:
        return _people(request, who, "Give a name, and say what the person does.", status=422)
    if secret and len(secret) < LEAST[role]:
        said = f"That is too short: at least {LEAST[role]} letters or digits for a {role}."
        return _people(request, who, said, status=422)
    if name == who.name and role != who.role:
        return _people(request, who, "You cannot give yourself other work; ask another lead.", status=422)
    word = set_account(kitchen.database, name, role, secret or secrets.token_urlsafe(18), by=who.name, at=at)
    if name == who.name:
        return _signed_in(request, name, "/people")
    return _people(request, who, link=f"{request.url.scheme}://{request.url.netloc}/link/{word}", link_of=name)
