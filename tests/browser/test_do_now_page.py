"""The page of what to do now in a real browser: read in a minute, by day and by night, and whole on paper."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page
from pypdf import PdfReader
from reshuffle_kitchen import fire_fails, with_sums

from scheduler.report.do_now import DoNow, do_now, do_now_html

WORDS_A_MINUTE = 150
"""Reading aloud at an easy pace; common practice, no source."""


@pytest.fixture(scope="module")
def told() -> DoNow:
    now = fire_fails()
    return do_now(now, *with_sums(now))


@pytest.fixture
def page(browser: Browser, told: DoNow, tmp_path: Path) -> Iterator[Page]:
    file = tmp_path / "do-now.html"
    file.write_text(do_now_html(told), encoding="utf-8")
    opened = browser.new_page(viewport={"width": 390, "height": 844})
    opened.goto(file.as_uri())
    yield opened
    opened.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_and_stands_out_by_day_and_by_night(page: Page, scheme: Literal["light", "dark"]) -> None:
    page.emulate_media(color_scheme=scheme)
    page.locator("summary").evaluate_all("all => all.forEach(one => one.click())")
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == ("rgb(20, 16, 13)" if scheme == "dark" else "rgb(247, 240, 225)")
    found = Axe().run(page, options={"runOnly": ["wcag2aa"]}).response["violations"]
    assert [one["id"] for one in found] == []


def test_what_shows_is_read_aloud_in_a_minute(page: Page, told: DoNow) -> None:
    shown = page.locator("main").inner_text()
    assert len(shown.split()) < WORDS_A_MINUTE
    assert all(line not in shown for line in told.on_the_pit)


def test_paper_has_what_is_on_the_pit_as_well(page: Page, told: DoNow, tmp_path: Path) -> None:
    page.emulate_media(color_scheme="dark")
    pdf = tmp_path / "do-now.pdf"
    page.pdf(path=str(pdf), format="Letter")
    text = " ".join(" ".join(sheet.extract_text().split()) for sheet in PdfReader(str(pdf)).pages)
    assert told.on_the_pit
    for line in told.on_the_pit:
        assert line in text.replace("\xa0", " ")
