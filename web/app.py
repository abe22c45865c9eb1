"""The application: pages, the guard around them, and what happens when something is wrong."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from scheduler.errors import InputError, OutputError
from web.door import NotForYouError, NotInError, Who, who_is
from web.guard import Guard
from web.kitchen import Kitchen
from web.pages import ROUTERS
from web.settings import Settings
from web.show import page

STATIC = Path(__file__).parent / "static"


@dataclass(frozen=True, slots=True)
class WrongPage:
    """Context of the page that says what is wrong."""

    heading: str
    lines: tuple[str, ...]


def create_app(settings: Settings) -> FastAPI:
    """A server's application. InputError if the scenario folder cannot be used."""
    kitchen = Kitchen(settings)

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        kitchen.start()
        yield
        kitchen.close()

    app = FastAPI(title="Pit", lifespan=life, docs_url=None, redoc_url=None, openapi_url=None)
    app.state.kitchen = kitchen
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    for router in ROUTERS:
        app.include_router(router)
    _tell_mistakes(app)
    app.add_middleware(Guard, settings=settings)
    return app


def _wrong(request: Request, status: int, heading: str, *lines: str) -> Response:
    try:
        who = who_is(request)
    except NotInError:
        who = Who("", "counter")
    return page(request, who, heading, "wrong.html", WrongPage(heading, lines), status)


def _tell_mistakes(app: FastAPI) -> None:
    @app.exception_handler(NotInError)
    def not_in(request: Request, _: Exception) -> Response:
        if request.method != "GET" or "text/html" not in request.headers.get("accept", ""):
            return Response("Sign in first.", 401)
        query = f"?{request.url.query}" if request.url.query else ""
        asked = quote(request.scope["path"]) + query
        return RedirectResponse(f"/sign-in?to={quote(asked)}", 303)

    @app.exception_handler(NotForYouError)
    def not_for_you(request: Request, _: Exception) -> Response:
        return _wrong(request, 403, "Not for you", "This page is for somebody with other work.")

    @app.exception_handler(InputError)
    def bad_input(request: Request, error: Exception) -> Response:
        assert isinstance(error, InputError)
        lines = [problem.sentence() for problem in error.problems]
        return _wrong(request, 422, "That cannot be used", *lines)

    @app.exception_handler(OutputError)
    def not_written(request: Request, error: Exception) -> Response:
        return _wrong(request, 409, "That could not be written", f"{error}.")

    @app.exception_handler(LookupError)
    def not_there(request: Request, error: Exception) -> Response:
        return _wrong(request, 404, "Not there", f"{error.args[0] if error.args else 'Nothing is here'}.")

    @app.exception_handler(RequestValidationError)
    def no_such_address(request: Request, _: Exception) -> Response:
        return _wrong(request, 404, "Not there", "Nothing has that address.")

    @app.exception_handler(HTTPException)
    def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        heading = "Not there" if error.status_code == 404 else "That did not work"
        answer = _wrong(request, error.status_code, heading, f"{error.detail}.")
        answer.headers.update(error.headers or {})  # such as which methods an address knows
        return answer
