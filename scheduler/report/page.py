"""The crew plan as one self-contained page: no script, no inline style, nothing fetched.

The page carries its own Content-Security-Policy, which allows its one style sheet by hash and nothing else.
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass, fields
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Protocol, runtime_checkable

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from scheduler.report.crew_sheet import CrewSheet, crew_sheets
from scheduler.report.desk import Desk
from scheduler.report.fire_sheet import FireSheet, fire_sheet
from scheduler.report.hold_chart import HoldSheet, hold_sheet
from scheduler.report.labels import LabelSheet, label_sheet
from scheduler.report.opening import Opening, opening
from scheduler.report.prep_sheet import PrepSheet, prep_sheet
from scheduler.report.probe_sheet import ProbeSheet, probe_sheet
from scheduler.report.rack_chart import RackSheet, rack_sheets
from scheduler.report.words import tight
from scheduler.report.worth_sheet import WorthSheet

TEMPLATES: dict[type, str] = {
    Opening: "opening.html",
    PrepSheet: "prep_sheet.html",
    CrewSheet: "crew_sheet.html",
    ProbeSheet: "probe_sheet.html",
    RackSheet: "rack_sheet.html",
    HoldSheet: "hold_sheet.html",
    FireSheet: "fire_sheet.html",
    LabelSheet: "label_sheet.html",
    WorthSheet: "worth_sheet.html",
}
"""The template of each sheet's context."""


@runtime_checkable
class Sheet(Protocol):
    """What every sheet's context has."""

    @property
    def anchor(self) -> str: ...

    @property
    def title(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Link:
    """A sheet in the list at the top of the page."""

    anchor: str
    title: str


@dataclass(frozen=True, slots=True)
class Page:
    """Context of the whole page."""

    title: str
    foot: str
    policy: str
    css: Markup
    banner: str
    """Such as that the plan is old; empty where it is not."""
    links: tuple[Link, ...]
    sheets: tuple[Markup, ...]


@cache
def environment() -> Environment:
    """Templates that escape everything and refuse an unknown name."""
    return Environment(
        loader=PackageLoader("scheduler.report"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=tight,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def render(template: str, context: object) -> Markup:
    """A template with the fields of a context dataclass, and nothing else."""
    values = {field.name: getattr(context, field.name) for field in fields(context)}  # type: ignore[arg-type]
    return Markup(environment().get_template(template).render(values))


def style_sheet() -> Markup:
    """The page's own style sheet. It is ours, so it is not escaped."""
    return Markup(files("scheduler.report").joinpath("templates", "crew_plan.css").read_text(encoding="utf-8"))


def plan_css(desk: Desk, *, old: bool = False) -> Markup:
    """The style sheet with rules that print the number of the plan at the foot of each page of paper."""
    name = f"{'OLD: ' if old else ''}{desk.scenario.weekend.name}, plan {desk.plan.number}"
    # Escaped, so that no name can end the text or the style sheet.
    plain = "".join(c if c.isascii() and (c.isalnum() or c in " ,") else f"\\{ord(c):x} " for c in name)
    foot = f'{{ @bottom-left {{ content: "{plain}"; font: bold 9pt sans-serif; }} }}'
    return Markup(f"{style_sheet()}\n@page {foot}\n@page chart {foot}\n")


def policy(css: str) -> str:
    """A Content-Security-Policy for that style sheet alone."""
    digest = b64encode(sha256(css.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def sheets(desk: Desk, worth: WorthSheet | None = None) -> tuple[Sheet, ...]:
    """Contexts of all sheets in the order of the page; what is worth cooking is known only where it was asked."""
    found: tuple[Sheet | None, ...] = (
        opening(desk),
        worth,
        prep_sheet(desk),
        *crew_sheets(desk),
        probe_sheet(desk),
        *rack_sheets(desk),
        hold_sheet(desk),
        fire_sheet(desk),
        label_sheet(desk),
    )
    return tuple(sheet for sheet in found if sheet is not None)


def page_html(desk: Desk, banner: str = "", worth: WorthSheet | None = None) -> str:
    """The whole crew plan as HTML. An old plan has a banner above all sheets, and says so on each page of paper."""
    found = sheets(desk, worth)
    css = plan_css(desk, old=bool(banner))
    context = Page(
        title=f"Crew plan: {found[0].title}",
        foot=f"Plan {desk.plan.number} of {desk.scenario.weekend.name}, {desk.scenario.site.name}",
        policy=policy(css),
        css=css,
        banner=banner,
        links=tuple(Link(sheet.anchor, sheet.title) for sheet in found),
        sheets=tuple(render(TEMPLATES[type(sheet)], sheet) for sheet in found),
    )
    return str(render("crew_plan.html", context))
