"""The crew plan in a real browser: quiet, self-contained, readable on a phone, and whole on paper."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Literal

import pytest
import report_kitchen as kitchen
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from scheduler.model.plan import Plan
from scheduler.report import write_all

PAPERS = {"Letter": (612, 792), "A4": (596, 843)}
"""Width and height of a page in points (ISO 216 and ANSI Y14.1, as Chromium rounds them)."""
PX_PER_MM = 96 / 25.4
MARGINS_MM = 24


@pytest.fixture(scope="module")
def plan() -> Plan:
    return kitchen.plan(kitchen.scenario())


@pytest.fixture(scope="module")
def file(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_all(plan, kitchen.scenario(), tmp_path_factory.mktemp("plan"))[0]


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    opened = browser.new_page(viewport={"width": 1280, "height": 900})
    opened.set_default_timeout(120_000)  # the machine may be busy with other tests
    yield opened
    opened.close()


def _too_wide(page: Page) -> list[str]:
    """Elements that stick out of the window to the right and are not inside a box that scrolls."""
    found: list[str] = page.evaluate(
        """() => [...document.body.querySelectorAll('*')]
             .filter(e => !e.closest('.scroll') && e.getBoundingClientRect().right > innerWidth + 0.5)
             .map(e => `${e.tagName}.${e.getAttribute('class')}: ${e.textContent.slice(0, 40)}`)"""
    )
    return found


def test_no_request_no_message_no_error(page: Page, file: Path) -> None:
    requests: list[str] = []
    messages: list[str] = []
    page.on("request", lambda request: requests.append(request.url))
    page.on("console", lambda message: messages.append(message.text))
    page.on("pageerror", lambda error: messages.append(str(error)))
    page.goto(file.as_uri())
    page.wait_for_load_state("networkidle")
    assert requests == [file.as_uri()]
    assert messages == []
    # The policy of the page lets its own style sheet through: without it the bar would be transparent.
    ink = page.locator(".sheets").evaluate("e => getComputedStyle(e).backgroundColor")
    assert ink == "rgb(28, 21, 17)"


@pytest.mark.parametrize("width", [390, 768, 1280])
def test_no_sideways_scrolling(page: Page, file: Path, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(file.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") == width
    assert _too_wide(page) == []


@pytest.mark.parametrize(("media", "width"), [("screen", 390), ("screen", 1280), ("print", 703)])
def test_no_word_sticks_out_of_its_cell(
    page: Page, tmp_path: Path, media: Literal["screen", "print"], width: int
) -> None:
    # The weekend of the autumn clock change has the longest times, such as "1:15 am CDT".
    scenario = kitchen.scenario(datetime(2026, 10, 31))
    file = write_all(kitchen.plan(scenario), scenario, tmp_path)[0]
    page.emulate_media(media=media)
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(file.as_uri())
    assert page.locator("td.when", has_text="CDT").count() > 0
    out = page.evaluate(
        """() => [...document.querySelectorAll('td, th, dt, dd, li')]
             .filter(e => !e.closest('.scroll') && e.getClientRects().length && e.scrollWidth > e.clientWidth + 1)
             .map(e => e.textContent.trim().slice(0, 40))"""
    )
    assert out == []


def test_wide_charts_scroll_in_their_own_box_on_a_phone(page: Page, file: Path) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(file.as_uri())
    boxes = page.locator(".chart .scroll").filter(visible=True)
    assert boxes.count() > 0
    for inner, outer in boxes.evaluate_all("boxes => boxes.map(b => [b.scrollWidth, b.clientWidth])"):
        assert inner > 2 * outer
        assert outer <= 390


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_is_large_enough_on_a_phone_and_stands_out(
    page: Page, file: Path, scheme: Literal["light", "dark"]
) -> None:
    # WCAG 2.2, 1.4.3: contrast of at least 4.5 to 1 for text; the formula is that of "relative luminance" there.
    # Letters in a drawing stand out from their halo, or from the drawing's ground where they have none.
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(file.as_uri())
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == ("rgb(20, 16, 13)" if scheme == "dark" else "rgb(247, 240, 225)")
    found = page.evaluate(
        """() => {
          const lum = c => { const [r, g, b] = c.match(/[\\d.]+/g).map(Number).map(v => v / 255)
            .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126*r + 0.7152*g + 0.0722*b }
          const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
            if (!/, 0\\)$/.test(c)) return c } return 'rgb(255, 255, 255)' }
          const own = e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())
          return [...document.body.querySelectorAll('*')]
            .filter(e => own(e) && e.tagName !== 'title' && e.getClientRects().length)
            .map(e => { const css = getComputedStyle(e), drawn = e.tagName === 'text', dark = e.closest('.steady');
              const heat = dark && getComputedStyle(dark.previousElementSibling).fill;
              const a = lum(drawn ? css.fill : css.color);
              const b = lum(drawn ? heat || (css.stroke === 'none' ? ground(e) : css.stroke) : ground(e));
              return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), parseFloat(getComputedStyle(e).fontSize),
                      e.textContent.trim().slice(0, 30)] }) }"""
    )
    assert len(found) > 500
    assert [entry for entry in found if entry[0] < 4.5] == []
    assert [entry for entry in found if entry[1] < 12 and entry[2] != "W"] == []


def test_paper_is_black_on_white_whatever_the_phone_shows(page: Page, file: Path) -> None:
    page.emulate_media(color_scheme="dark", media="print")
    page.goto(file.as_uri())
    colors = page.evaluate("(({backgroundColor, color}) => [backgroundColor, color])(getComputedStyle(document.body))")
    assert colors == ["rgb(255, 255, 255)", "rgb(28, 21, 17)"]
    assert page.locator(".drawing").first.evaluate("e => getComputedStyle(e).backgroundColor") == "rgb(255, 255, 255)"


@pytest.mark.parametrize("paper", PAPERS)
def test_every_sheet_is_whole_on_paper(page: Page, file: Path, plan: Plan, paper: str, tmp_path: Path) -> None:
    page.goto(file.as_uri())
    titles = page.locator(".sheet h1").all_inner_texts()
    pdf = tmp_path / "plan.pdf"
    page.pdf(path=str(pdf), format=paper, prefer_css_page_size=True, tagged=True, outline=True)
    reader = PdfReader(str(pdf))
    pages = reader.pages
    texts = [found.extract_text() for found in pages]
    assert len(titles) <= len(pages) <= 2 * len(titles)
    heads = [entry for entry in reader.outline if not isinstance(entry, list)]
    starts = [reader.get_destination_page_number(entry) or 0 for entry in heads]
    assert [str(entry.title).lower() for entry in heads] == [title.lower() for title in titles]
    assert starts == sorted(starts)
    own = page.locator(".sheet").evaluate_all("sheets => sheets.map(s => !s.matches('.wide + .wide'))")
    fresh = [at for at, alone in zip(starts, own, strict=True) if alone]
    assert all(starts.count(at) == 1 or own[starts.index(at)] for at in fresh)
    assert fresh == sorted(set(fresh)), "a sheet other than a chart does not start on a page of its own"
    assert all(text.strip() for text in texts), "an empty page"
    sizes = {(round(float(p.mediabox.width)), round(float(p.mediabox.height))) for p in pages}
    assert sizes == {PAPERS[paper], PAPERS[paper][::-1]}
    labels = " ".join(texts[starts[-1] :])
    assert all(load.code in labels for load in plan.loads)
    assert all(f"{number} of {len(pages)}" in text for number, text in enumerate(texts, 1))


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_cut_off_at_the_edge_of_the_paper(page: Page, file: Path, paper: str) -> None:
    page.emulate_media(media="print")
    short, long = (side / 72 * 96 - MARGINS_MM * PX_PER_MM for side in PAPERS[paper])
    page.set_viewport_size({"width": int(short), "height": 900})
    page.goto(file.as_uri())
    # The charts lie on landscape pages; where a browser does not turn single pages, they must fit upright too.
    assert page.evaluate("document.documentElement.scrollWidth") <= int(short)
    sheets = page.locator(".sheet")
    assert sheets.count() == 17
    for widest, edge in sheets.evaluate_all(
        "sheets => sheets.map(s => [Math.max(...[...s.querySelectorAll('*')]"
        ".map(e => e.getBoundingClientRect().right)), innerWidth])"
    ):
        assert widest <= edge + 2
    page.set_viewport_size({"width": int(long), "height": 700})
    for width, height in page.locator(".wide .drawing").evaluate_all(
        "drawings => drawings.map(d => [d.getBoundingClientRect().right, d.getBoundingClientRect().height])"
    ):
        assert width <= long
        assert height <= short, "a chart taller than the page would be torn"


def test_words_in_charts_do_not_run_into_each_other(page: Page, file: Path) -> None:
    page.goto(file.as_uri())
    clashes = page.evaluate(
        """() => [...document.querySelectorAll('svg.drawing')].flatMap(svg => {
          const texts = [...svg.querySelectorAll('text:not(.wrap-letter)')]
            .map(t => [t.textContent, t.getBoundingClientRect()])
          const box = svg.getBoundingClientRect()
          const out = texts.filter(([, r]) => r.left < box.left - 1 || r.right > box.right + 1)
            .map(([t]) => `outside: ${t}`)
          texts.forEach(([t, r], i) => texts.slice(0, i).forEach(([u, q]) => {
            if (r.left < q.right - 1 && q.left < r.right - 1 && r.top < q.bottom - 4 && q.top < r.bottom - 4)
              out.push(`${t} / ${u}`) }))
          return out })"""
    )
    assert clashes == []
