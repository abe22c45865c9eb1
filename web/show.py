"""Pages from templates: all is escaped, an unknown name is a mistake, each page gets its own context and the frame."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import ChoiceLoader, Environment, PackageLoader, PrefixLoader, StrictUndefined

from scheduler.report.words import cut_text, money_text, percent_text, pieces_text, tight, wave_text
from web.door import Who
from web.kitchen import Kitchen


@dataclass(frozen=True, slots=True)
class NavLink:
    """A page in the bar."""

    path: str
    title: str
    here: bool


@dataclass(frozen=True, slots=True)
class Frame:
    """What every page shows around its own."""

    title: str
    kitchen: str
    weekend: str
    invented: bool
    practice: str
    """What the practice clock shows; empty where the clock is the wall's."""
    who: Who
    open_door: bool
    links: tuple[NavLink, ...]


LINKS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("/weekend", "Weekend", ("lead",)),
    ("/plans", "Plans", ("lead", "crew")),
    ("/now", "Now", ("lead", "crew")),
    ("/service", "Service", ("lead", "crew", "counter")),
    ("/forecast", "Forecast", ("lead",)),
    ("/paper", "Paper", ("lead", "crew")),
    ("/after", "After", ("lead",)),
    ("/help", "Help", ("lead", "crew", "counter")),
)
"""Pages by who may see them."""


@cache
def environment() -> Environment:
    """Templates of the web, and of the printed plan under "report/"."""
    report = PrefixLoader({"report": PackageLoader("scheduler.report")})
    found = Environment(
        loader=ChoiceLoader([PackageLoader("web"), report]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters |= {"money": money_text, "percent": percent_text, "tight": tight}
    found.globals |= {"pieces_text": pieces_text, "cut_text": cut_text, "wave_text": wave_text}
    return found


def kitchen_of(request: Request) -> Kitchen:
    """The kitchen of the server that a request came to."""
    found: Kitchen = request.app.state.kitchen
    return found


def frame_of(request: Request, title: str, who: Who) -> Frame:
    """The frame of a page."""
    kitchen = kitchen_of(request)
    scenario = kitchen.weekend().scenario
    path = request.url.path
    links = tuple(
        NavLink(to, name, path == to or path.startswith(f"{to}/")) for to, name, roles in LINKS if who.role in roles
    )
    if not who.name and not kitchen.settings.open_door:
        links = ()
    practice = kitchen.moment(kitchen.settings.now(), scenario) if kitchen.settings.practice else ""
    weekend, open_door = scenario.weekend, kitchen.settings.open_door
    return Frame(title, scenario.site.name, weekend.name, weekend.invented, practice, who, open_door, links)


def values_of(context: object) -> dict[str, Any]:
    """The fields of a context."""
    return {field.name: getattr(context, field.name) for field in fields(context)}  # type: ignore[arg-type]


def page(request: Request, who: Who, title: str, template: str, context: object, status: int = 200) -> HTMLResponse:
    """A whole page."""
    values = values_of(context) | {"frame": frame_of(request, title, who)}
    return HTMLResponse(environment().get_template(template).render(values), status)


def fragment(template: str, context: object) -> HTMLResponse:
    """A part of a page that a script puts in place of an older one."""
    return HTMLResponse(environment().get_template(template).render(values_of(context)))
