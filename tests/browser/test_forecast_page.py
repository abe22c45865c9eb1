"""The forecast page in a real browser: quiet, self-contained, no wider than a phone, and readable."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import forecast_kitchen as kitchen
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from scheduler.books import read_history
from scheduler.forecast.weekend import forecast_weekend
from scheduler.report.forecast_page import forecast_html

PHONE_PX, DESK_PX = 390, 1280
LEAST_TEXT_PX = 9.0


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    scenario = kitchen.harvest()
    history = read_history(kitchen.SCENARIOS / "harvest-weekend", scenario)
    path = tmp_path_factory.mktemp("forecast") / "forecast.html"
    path.write_text(forecast_html(forecast_weekend(scenario, history, draws=300)), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [PHONE_PX, DESK_PX])
def test_it_fits_fetches_nothing_and_says_nothing_on_the_console(browser: Browser, file: Path, width: int) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900})
    told: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.on("pageerror", lambda error: told.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    assert told == []
    assert asked == [file.as_uri()]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator("section.forecast").count() == 3
    assert page.locator("figure.fan").count() == 4 + 7 + 7 + 3  # a drawing for each cut, and one of each day's line
    sizes = page.eval_on_selector_all("figure.fan text", "all => all.map(e => e.getBoundingClientRect().height)")
    assert min(sizes) >= LEAST_TEXT_PX
    page.close()


def test_every_drawing_stays_in_its_frame(browser: Browser, file: Path) -> None:
    page = browser.new_page(viewport={"width": DESK_PX, "height": 900})
    page.goto(file.as_uri())
    outside = page.eval_on_selector_all(
        "figure.fan svg",
        """all => all.filter(svg => {
            const frame = svg.getBoundingClientRect();
            return [...svg.querySelectorAll("*")].some(e => {
                const box = e.getBoundingClientRect();
                return box.left < frame.left - 1 || box.right > frame.right + 1
                    || box.top < frame.top - 1 || box.bottom > frame.bottom + 1;
            });
        }).map(svg => svg.getAttribute("aria-label"))""",
    )
    assert outside == []
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_by_day_and_by_night(browser: Browser, file: Path, scheme: Literal["light", "dark"]) -> None:
    page = browser.new_page(viewport={"width": PHONE_PX, "height": 900}, color_scheme=scheme)
    page.goto(file.as_uri())
    found = Axe().run(page, options={"runOnly": ["color-contrast"]}).response["violations"]
    assert [node["html"] for one in found for node in one["nodes"]] == []
    page.close()


def test_it_says_that_the_data_are_invented(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.count("Invented data.") == 3
    assert "<script" not in text
    assert " style=" not in text
