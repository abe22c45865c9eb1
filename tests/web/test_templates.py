"""Each template gets exactly the fields of its page's context, and the frame."""

from __future__ import annotations

from dataclasses import fields

import pytest
from jinja2 import meta, nodes

from web.after import AfterPage
from web.app import WrongPage
from web.exports import OnePrint
from web.pages.forecast import ForecastPage, PreviewPage
from web.pages.help_page import USE, HelpPage
from web.pages.night import BrokePage, DoNowPage, NowPage
from web.pages.paper import PaperPage
from web.pages.plans import ComparePage, PlansPage
from web.pages.search import SearchPage
from web.pages.service import ServicePage
from web.pages.sign_in import PeoplePage, SignInPage
from web.pages.weekend import WeekendPage
from web.plan_view import PlanPage
from web.show import LINKS, environment

CONTEXTS: dict[str, type | None] = {
    "after.html": AfterPage,
    "base.html": None,
    "broke.html": BrokePage,
    "compare.html": ComparePage,
    "do_now.html": DoNowPage,
    "fields.html": None,
    "forecast.html": ForecastPage,
    "help.html": HelpPage,
    "link.html": SignInPage,
    "night_macros.html": None,
    "now.html": NowPage,
    "now_board.html": NowPage,
    "paper.html": PaperPage,
    "people.html": PeoplePage,
    "plan.html": PlanPage,
    "plans.html": PlansPage,
    "preview.html": PreviewPage,
    "print_one.html": OnePrint,
    "rack_chart.html": None,
    "search.html": SearchPage,
    "service.html": ServicePage,
    "service_board.html": ServicePage,
    "sign_in.html": SignInPage,
    "weekend.html": WeekendPage,
    "wrong.html": WrongPage,
}
"""The context of each template; None for those that are only built on or taken from."""


def test_every_page_of_the_bar_is_explained() -> None:
    assert {title for _, title, _ in LINKS} - {"Help"} <= {name for name, _ in USE}


def test_every_template_is_known() -> None:
    assert {name for name in environment().list_templates() if not name.startswith("report/")} == set(CONTEXTS)


@pytest.mark.parametrize("name", CONTEXTS)
def test_a_template_asks_for_its_context_and_the_frame_and_nothing_else(name: str) -> None:
    loader = environment().loader
    assert loader is not None
    source, _, _ = loader.get_source(environment(), name)
    tree = environment().parse(source)
    own = {n if isinstance(n, str) else n[1] for found in tree.find_all(nodes.FromImport) for n in found.names}
    own |= {
        name.name for found in tree.find_all(nodes.Assign) for name in [found.target] if isinstance(name, nodes.Name)
    }
    asked = meta.find_undeclared_variables(tree) - own - set(environment().globals)
    context = CONTEXTS[name]
    given = {field.name for field in fields(context)} if context is not None else set()
    assert asked - {"frame"} <= given
    if name in ("now.html", "service.html"):
        asked |= {"board"}  # which the board inside asks for
    unused = given - asked - {"to", "name", "mistake"}
    assert unused == set(), "a page works out what nobody shows"
