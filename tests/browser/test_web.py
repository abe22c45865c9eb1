"""Whole stories in a real browser: a weekend planned, a night worked with the network cut, a smoker broken, a cut sold.

Needs Chromium at /usr/bin/chromium. Without it the tests are skipped, except on CI, where they fail.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect, sync_playwright
from pypdf import PdfReader
from web_server import Served, copied, free_port, served, settings_of

from web.store.entries import all_entries
from web.store.plans import number_in_force

CHROMIUM = Path("/usr/bin/chromium")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
ROOT = Path(__file__).parents[2]
PHONE = {"width": 390, "height": 844}
LAPTOP = {"width": 1280, "height": 900}
PAGES = ("/weekend", "/plans", "/plans/1", "/now", "/broke", "/service", "/forecast", "/paper", "/after", "/help")
EXPECTED = ("net::ERR_INTERNET_DISCONNECTED", "net::ERR_FAILED", "409 (Conflict)", "422 (Unprocessable")
"""What a browser says by itself of a cut network or of an answer that is a page with mistakes."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        if os.environ.get("CI"):
            pytest.fail(f"{CHROMIUM} is missing")
        pytest.skip(f"{CHROMIUM} is missing")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=str(CHROMIUM), args=QUIET)
        yield started
        started.close()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Served]:
    with served(settings_of(copied(tmp_path), hour=5)) as found:
        yield found


@pytest.fixture
def said() -> Iterator[list[str]]:
    """What the consoles of all pages said, looked at when the story is over."""
    lines: list[str] = []
    yield lines
    assert [line for line in lines if not any(known in line for known in EXPECTED)] == []


@pytest.fixture
def open_page(browser: Browser, said: list[str]) -> Iterator[OpenPage]:
    with ExitStack() as stack:
        yield OpenPage(browser, said, stack)


class OpenPage:
    """Opens pages in contexts of their own, as on phones of different people."""

    def __init__(self, browser: Browser, said: list[str], stack: ExitStack) -> None:
        self.browser, self.said, self.stack = browser, said, stack

    def __call__(self, url: str, *, phone: bool = True, dark: bool = False) -> Page:
        size = PHONE if phone else LAPTOP
        context: BrowserContext = self.browser.new_context(
            viewport={"width": size["width"], "height": size["height"]},
            color_scheme="dark" if dark else "light",
            has_touch=phone,
        )
        self.stack.callback(context.close)
        page = context.new_page()
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.goto(url)
        return page


def test_a_weekend_is_planned_and_a_load_moved(tmp_path: Path, open_page: OpenPage) -> None:
    """Through the command itself, so that the search runs as it does for a user."""
    port, folder = free_port(), copied(tmp_path)
    words = [sys.executable, "-m", "scheduler", "serve", str(folder), "--port", str(port), "--practice", "fri 16:00"]
    child = subprocess.Popen(
        words, cwd=ROOT, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)}
    )
    try:
        assert child.stdout is not None
        assert str(port) in child.stdout.readline()
        url = f"http://127.0.0.1:{port}"
        _wait_for(url)
        page = open_page(f"{url}/weekend", phone=False)
        page.fill("[name=wave-0-pieces]", "plenty")
        page.locator("button[value=plan]").last.click()
        expect(page.locator("#wave-0-pieces-said")).to_contain_text("is not a whole number")
        page.fill("[name=wave-0-pieces]", "2")
        page.select_option("#seconds", "15")
        page.locator("button[value=plan]").last.click()
        expect(page.locator("[data-part=cost]")).to_contain_text("$", timeout=30_000)
        page.click("text=Stop now and keep the best")
        page.wait_for_url("**/plans/1", timeout=60_000)
        expect(page.locator("text=it breaks no rule")).to_be_visible()
        bar = page.locator(".pick").first
        bar.focus()
        for _ in range(4):
            page.keyboard.press("ArrowRight")
        expect(page.locator("#moved")).to_contain_text("Move and audit")
        page.click("button[value=move]")
        page.wait_for_url("**/plans/2?load=*")
        expect(page.locator("h1")).to_contain_text("Plan 2")
        page.goto(f"{url}/compare?left=1&right=2")
        expect(page.locator("h1")).to_contain_text("Plan 1 and plan 2")
    finally:
        child.terminate()
        child.wait(timeout=20)
        if child.stdout is not None:
            child.stdout.close()


def _wait_for(url: str) -> None:
    for _ in range(200):
        try:
            if httpx.get(f"{url}/static/pit.css").status_code == 200:
                return
        except httpx.TransportError:
            pass
    raise AssertionError("the server does not answer")


def test_a_night_with_the_network_cut_loses_and_doubles_nothing(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/now")
    tasks = page.locator(".task:not(.kept-here)")
    before = tasks.count()
    assert before > 1
    page.locator(".task .strong").first.tap()
    expect(page.locator(".written li")).to_have_count(1)
    page.context.set_offline(True)
    for _ in range(2):
        page.locator(".task:not(.kept-here) .strong").first.tap()
    summary = page.locator(".reading summary").first
    summary.tap()
    page.locator(".reading[open] .temps button").nth(2).tap()
    expect(page.locator("#link-state")).to_contain_text("3 entries are kept on this phone")
    assert len(all_entries(server.kitchen.database)) == 1
    page.context.set_offline(False)
    expect(page.locator("#link-state")).to_be_hidden(timeout=30_000)
    kept = all_entries(server.kitchen.database)
    assert len(kept) == 4
    assert len({entry.key for entry in kept}) == 4
    assert [entry.at for entry in kept] == sorted(entry.at for entry in kept)


def test_what_waits_outlives_the_page_and_an_answer_that_got_lost_doubles_nothing(
    server: Served, open_page: OpenPage
) -> None:
    page = open_page(f"{server.url}/now")
    # The server keeps the entry, but its answer never arrives: the phone has to send it again.

    def lose(route: Route) -> None:
        route.fetch()
        route.abort()

    page.route("**/entries", lose, times=1)
    page.locator(".task .strong").first.tap()
    expect(page.locator("#link-state")).to_contain_text("1 entry is kept on this phone")
    page.reload()
    expect(page.locator("#link-state")).to_be_hidden(timeout=30_000)
    assert len(all_entries(server.kitchen.database)) == 1


def test_a_double_tap_is_one_entry(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/now")
    page.locator(".task .strong").first.dblclick()
    expect(page.locator(".written li")).to_have_count(1)
    assert len(all_entries(server.kitchen.database)) == 1


def test_a_page_without_connection_says_since_when(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/now")
    page.clock.install()
    page.reload()
    page.context.set_offline(True)
    page.clock.run_for(90_000)
    expect(page.locator("#link-state")).to_contain_text("This page is stale: no connection since")


def test_a_tick_is_undone(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/now")
    count = page.locator(".task").count()
    page.locator(".task .strong").first.tap()
    page.locator(".written button").first.tap()
    expect(page.locator(".task")).to_have_count(count)
    expect(page.locator(".written li")).to_have_count(0)
    assert [entry.undone for entry in all_entries(server.kitchen.database)] == [True, False]


def test_a_smoker_breaks_and_three_taps_later_there_is_something_to_do(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/now")
    page.tap("text=Something changed")
    page.locator("button.choice", has_text="fire, smoker, oven").tap()
    page.locator("button.choice", has_text="smoker on the short box").tap()
    page.locator("button.choice", has_text="Nobody knows").tap()
    page.wait_for_url("**/do-now/*", timeout=90_000)
    expect(page.locator("h2").first).to_contain_text("Do now")
    page.tap("text=Work by this plan from now on")
    page.wait_for_url("**/now")
    kept = server.kitchen.in_force()
    assert kept is not None
    assert (kept.kind, kept.breaches) == ("reshuffled", 0)
    expect(page.locator(".place.trouble")).to_have_count(1)


def test_a_cut_is_sold_out(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/service")
    cut = page.locator(".cut", has_text="Half chicken")
    made = int(cut.locator(".counts .big dd").inner_text())
    for left in range(made - 2, -1, -2):
        cut.locator("button", has_text="2 sold").tap()
        expect(cut.locator(".counts .big dd")).to_have_text(str(left))
    expect(cut).to_contain_text("Sold out")


def test_two_people_edit_at_once(server: Served, open_page: OpenPage) -> None:
    ana, ben = (open_page(f"{server.url}/weekend", phone=False) for _ in range(2))
    ana.fill("[name=wave-0-pieces]", "5")
    ben.fill("[name=wave-1-pieces]", "4")
    ana.locator("button[value=save]").first.click()
    expect(ana.locator(".good")).to_contain_text("pieces 3 to 5")
    ben.locator("button[value=save]").first.click()
    expect(ben.locator("[role=alert]")).to_contain_text("saved another version while you were at it")
    assert ben.input_value("[name=wave-1-pieces]") == "4"


def test_a_broken_history_is_shown_and_not_kept(server: Served, open_page: OpenPage, tmp_path: Path) -> None:
    file = tmp_path / "till.csv"
    file.write_text("time,item,amount\n2026-05-02T11:10,packer brisket,3\nnever,goat,=1+1\n", encoding="utf-8")
    page = open_page(f"{server.url}/forecast", phone=False)
    page.set_input_files("#sales", file)
    page.click("text=Look at it")
    expect(page.locator(".note")).to_contain_text("1 row cannot be read")
    page.click("text=Not this one")
    expect(page.locator("text=In use: none")).to_be_visible()


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("phone", [True, False], ids=["390", "1280"])
def test_no_page_is_wider_than_its_window_and_thumbs_find_their_buttons(
    server: Served, open_page: OpenPage, path: str, phone: bool
) -> None:
    page = open_page(server.url + path, phone=phone)
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") == width
    small = page.evaluate(
        """() => [...document.querySelectorAll('main button, main .button, main summary, main select, .topbar a,'
             + ' main input:not([type=hidden]):not([type=checkbox])')]
             .filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 44)
             .map(e => `${e.tagName} ${e.textContent.trim().slice(0, 30)}`)"""
    )
    assert small == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("path", PAGES)
def test_text_is_dark_enough_on_its_ground_by_day_and_by_night(
    server: Served, open_page: OpenPage, path: str, dark: bool
) -> None:
    # WCAG 2.2, 1.4.3: contrast of at least 4.5 to 1 for text; the formula is that of "relative luminance" there.
    page = open_page(server.url + path, dark=dark)
    found = page.evaluate(
        """() => {
          const lum = c => { const [r, g, b] = c.match(/[\\d.]+/g).map(Number).map(v => v / 255)
            .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126*r + 0.7152*g + 0.0722*b }
          const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
            if (!/, 0\\)$/.test(c)) return c } return 'rgb(255, 255, 255)' }
          const own = e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())
          return [...document.body.querySelectorAll('*')]
            .filter(e => own(e) && !e.closest('svg') && !e.closest('.unseen') && e.getClientRects().length)
            .map(e => { const a = lum(getComputedStyle(e).color), b = lum(ground(e));
              return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), e.textContent.trim().slice(0, 30)] }) }"""
    )
    assert found
    assert [entry for entry in found if entry[0] < 4.5] == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("phone", [True, False], ids=["390", "1280"])
def test_the_accessibility_checker_finds_nothing(server: Served, open_page: OpenPage, phone: bool, dark: bool) -> None:
    page = open_page(f"{server.url}/help", phone=phone, dark=dark)
    found = {}
    for path in (*PAGES, "/people", "/sign-in", "/compare?left=1&right=1"):
        page.goto(server.url + path)
        result = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]})
        said = [f"{v['id']}: {v['nodes'][0]['html'][:90]}" for v in result.response["violations"]]
        if said:
            found[path] = said
    assert found == {}


@pytest.mark.parametrize("path", PAGES)
def test_every_control_has_a_name_and_the_keyboard_reaches_it(server: Served, open_page: OpenPage, path: str) -> None:
    page = open_page(server.url + path, phone=False)
    nameless = page.evaluate(
        """() => [...document.querySelectorAll('button, a[href], input:not([type=hidden]), select, summary')]
             .filter(e => e.getClientRects().length)
             .filter(e => !(e.textContent.trim() && e.tagName !== 'SELECT') && !e.labels?.length
                          && !e.getAttribute('aria-label'))
             .map(e => e.outerHTML.slice(0, 80))"""
    )
    assert nameless == []
    assert page.evaluate("[...document.querySelectorAll('[tabindex]')].filter(e => e.tabIndex > 0).length") == 0
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(ids) == len(set(ids))
    assert page.locator("h1").count() == 1


def test_sheets_come_out_of_the_printer(server: Served, open_page: OpenPage, tmp_path: Path) -> None:
    page = open_page(f"{server.url}/paper", phone=False)
    links = page.locator(".links a[href*='sheet=']")
    assert links.count() > 5
    href = page.locator("a", has_text="Labels").first.get_attribute("href")
    page.goto(f"{server.url}{href}")
    pdf = tmp_path / "labels.pdf"
    page.pdf(path=str(pdf), prefer_css_page_size=True)
    text = "".join(sheet.extract_text() for sheet in PdfReader(str(pdf)).pages)
    kept = server.kitchen.plan(number_in_force(server.kitchen.database) or 0)
    assert all(load.code in text for load in kept.plan.loads)
