"""Whole stories in a real browser: a weekend planned, a night without network, a smoker broken, a cut sold."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect
from pypdf import PdfReader
from web_server import Served, copied, corner_plan, free_port, served, settings_of

from web.pages import night
from web.settings import utc_now
from web.store.entries import all_entries
from web.store.people import set_account
from web.store.plans import number_in_force

ROOT = Path(__file__).parents[2]
PHONE = {"width": 390, "height": 844}
LAPTOP = {"width": 1280, "height": 900}
PAGES = (
    *("/weekend", "/plans", "/plans/1", "/plans/2", "/compare?left=1&right=2", "/search/1", "/now", "/broke"),
    *("/broke?what=place", "/service", "/forecast", "/forecast/history/1", "/paper", "/after", "/help", "/people"),
    *("/sign-in", "/link/word"),
)
BROKEN = "time,item,amount\n2026-05-02T11:10,packer brisket,3\nnever,goat,=1+1\n"
EXPECTED = (
    *("net::ERR_INTERNET_DISCONNECTED", "net::ERR_FAILED"),
    *("401 (Unauthorized)", "409 (Conflict)", "422 (Unprocessable"),
)
"""What a browser says by itself of a cut network or of an answer that is a page with mistakes."""


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
        context.set_default_timeout(60_000)
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


def test_a_smoker_breaks_and_three_taps_later_there_is_something_to_do(
    server: Served, open_page: OpenPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(night, "RESHUFFLE_S", 2)
    page = open_page(f"{server.url}/now")
    page.tap("text=Something changed")
    page.locator("button.choice", has_text="fire, smoker, oven").tap()
    page.locator("button.choice", has_text="smoker on the short box").tap()
    page.locator("button.choice", has_text="Nobody knows").tap()
    page.wait_for_url("**/do-now/*", timeout=90_000)
    expect(page.locator("h2").first).to_contain_text("Do now")
    assert faults(page) == []
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
    file.write_text(BROKEN, encoding="utf-8")
    page = open_page(f"{server.url}/forecast", phone=False)
    page.set_input_files("#sales", file)
    page.click("text=Look at it")
    expect(page.locator(".note")).to_contain_text("1 row cannot be read")
    page.click("text=Not this one")
    expect(page.locator("text=In use: none")).to_be_visible()


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A kitchen with something on every page: a plan that breaks rules, a forecast, an upload, entries, sales."""
    with served(settings_of(copied(tmp_path_factory.mktemp("pages")), hour=12)) as server, server.client() as client:
        search = client.post("/forecast").headers["location"]
        load = next(load for load in corner_plan().loads if load.wrap_at is not None)
        form = {
            "load": load.code,
            "press": "move",
            "smoke": f"{load.smoker}|{load.rack}",
            "finish": f"{load.finish_place}|{load.finish_rack or ''}",
            "load_at": f"{load.load_at + timedelta(hours=2):%Y-%m-%dT%H:%M}",
            "wrap_at": f"{load.wrap_at + timedelta(hours=2):%Y-%m-%dT%H:%M}" if load.wrap_at else "",
        }
        assert client.post("/plans/1/move", data=form).headers["location"].startswith("/plans/2?")
        assert "Do not cook by this plan: it breaks" in client.get("/plans/2").text
        assert client.post("/forecast/history", files={"sales": ("till.csv", BROKEN)}).status_code == 303
        events = [{"kind": "sold", "cut": "sausage", "portions": 5}, {"kind": "done", "load": load.code}]
        sent = [{"key": f"key-page-{i}", "what": "note", "event": event} for i, event in enumerate(events)]
        assert client.post("/entries", json={"entries": sent}).json()["refused"] == {}
        with client.stream("GET", f"{search}/stream") as stream:
            assert "Done" in "".join(stream.iter_lines())
        yield server


SMALL = """() => [...document.querySelectorAll('main button, main .button, main summary, main select, .topbar a,'
    + ' .links a, main input:not([type=hidden]):not([type=checkbox]), main label:has([type=checkbox])')]
    .filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 44)
    .map(e => `${e.tagName} ${e.textContent.trim().slice(0, 30)}`)"""
NAMELESS = """() => [...document.querySelectorAll('button, a[href], input:not([type=hidden]), select, summary')]
    .filter(e => e.getClientRects().length)
    .filter(e => (!e.textContent.trim() || e.tagName === 'SELECT') && !e.labels?.length && !e.ariaLabel)
    .map(e => e.outerHTML.slice(0, 80))"""
CUT_OFF = """() => [...document.querySelectorAll('button, .button, .tag, .code, dd, dt, h1, h2, h3, legend, .topbar a')]
    .filter(e => e.getClientRects().length && !e.closest('.scroll') && !e.closest('.unseen'))
    .filter(e => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline')
    .map(e => `${e.tagName} ${e.textContent.trim().slice(0, 30)}`)"""


ALL = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]
CONTRAST = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
"""All that can differ by night."""


def faults(page: Page, dark: bool = False) -> list[str]:
    """What the accessibility checker finds, and what a thumb, a keyboard or an eye would stumble over."""
    width = page.viewport_size["width"] if page.viewport_size else 0
    # All of the page at once, so that nothing lies under the bar that stays at the foot while a page scrolls.
    page.set_viewport_size({"width": width, "height": page.evaluate("document.documentElement.scrollHeight")})
    result = Axe().run(page, options={"runOnly": CONTRAST if dark else ALL})
    found = [f"{v['id']}: {v['nodes'][0]['html'][:90]}" for v in result.response["violations"]]
    if page.evaluate("document.documentElement.scrollWidth") != width:
        found.append("wider than its window")
    found += [f"under 44 px: {one}" for one in page.evaluate(SMALL)]
    found += [f"has no name: {one}" for one in page.evaluate(NAMELESS)]
    found += [f"is cut off: {one}" for one in page.evaluate(CUT_OFF)]
    if page.evaluate("[...document.querySelectorAll('[tabindex]')].some(e => e.tabIndex > 0)"):
        found.append("the keyboard goes another way than the eye")
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    found += [] if len(ids) == len(set(ids)) else ["two things have one name"]
    return found + ([] if page.locator("h1").count() == 1 else ["not one heading"])


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("phone", [True, False], ids=["390", "1280"])
def test_no_page_has_a_fault(furnished: Served, open_page: OpenPage, phone: bool, dark: bool) -> None:
    page = open_page(f"{furnished.url}/help", phone=phone, dark=dark)
    found = {}
    for path in PAGES:
        page.goto(furnished.url + path)
        if wrong := faults(page, dark):
            found[path] = wrong
    assert found == {}


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until what is meant has the focus."""
    for _ in range(300):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"the keyboard does not reach {selector}")


def test_the_keyboard_alone_can_do_all(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/now", phone=False)
    key = page.keyboard
    tab_to(page, ".ticks .strong")
    key.press("Enter")
    expect(page.locator(".written li")).to_have_count(1)
    tab_to(page, ".why summary")
    key.press("Enter")
    tab_to(page, ".why input")
    key.type("no wood left")
    tab_to(page, ".why button")
    key.press("Enter")
    expect(page.locator(".written li").first).to_contain_text("no wood left")
    tab_to(page, ".reading summary")
    key.press("Enter")
    tab_to(page, ".temps button")
    key.press("Enter")
    expect(page.locator(".written li").first).to_contain_text("reads")
    tab_to(page, ".broke a")
    key.press("Enter")
    page.wait_for_url("**/broke")
    tab_to(page, "button.choice")
    key.press("Enter")
    expect(page.locator("h1")).to_contain_text("Which one is down?")
    # A load is chosen in the chart, moved along and to another rack, then pinned where it was.
    page.goto(f"{server.url}/plans/1")
    tab_to(page, ".pick")
    key.press("ArrowRight")
    key.press("ArrowDown")
    expect(page.locator("#moved")).to_contain_text("Move and audit")
    key.press("Shift+Tab")
    tab_to(page, ".pick.chosen")
    key.press("Enter")
    tab_to(page, "button[value=pin]")
    key.press("Enter")
    page.wait_for_url("**/plans/2?load=*")
    pinned = server.kitchen.plan(2).pins
    assert len(pinned) == 1
    tab_to(page, ".pick.chosen")
    key.press("ArrowRight")
    tab_to(page, "button[value=move]")
    key.press("Enter")
    page.wait_for_url("**/plans/3?load=*")
    old, new = server.kitchen.plan(2).plan.load(pinned[0]), server.kitchen.plan(3).plan.load(pinned[0])
    assert old is not None
    assert new is not None
    assert old.load_at != new.load_at
    page.goto(f"{server.url}/service")
    tab_to(page, ".count-buttons .strong")
    key.press("Enter")
    expect(page.locator(".written li")).to_have_count(1)
    page.goto(f"{server.url}/weekend")
    tab_to(page, "[name=wave-0-pieces]")
    key.type("6")
    tab_to(page, "button[value=save]")
    key.press("Enter")
    expect(page.locator(".good")).to_contain_text("pieces 3 to 6")


def test_a_load_is_dragged_with_the_mouse(server: Served, open_page: OpenPage) -> None:
    page = open_page(f"{server.url}/plans/1", phone=False)
    bar = page.locator(".pick").first
    bar.scroll_into_view_if_needed()
    box = bar.bounding_box()
    assert box is not None
    before = page.locator("#move-at")
    bar.click()
    at = before.input_value()
    page.mouse.move(box["x"] + 10, box["y"] + 8)
    page.mouse.down()
    page.mouse.move(box["x"] + 90, box["y"] + 8, steps=4)
    page.mouse.up()
    assert before.input_value() > at
    expect(page.locator("#moved")).to_contain_text("Move and audit")


def test_a_helper_is_let_in_by_a_link_and_ticks_under_their_name(tmp_path: Path, open_page: OpenPage) -> None:
    with served(settings_of(copied(tmp_path), host="0.0.0.0", hour=5)) as server:
        word = set_account(server.kitchen.database, "Ana", "lead", "a long password", by="", at=utc_now())
        lead = open_page(f"{server.url}/weekend")
        expect(lead.locator("h1")).to_have_text("Sign in")
        assert faults(lead) == []
        lead.goto(f"{server.url}/link/{word}")
        lead.tap("text=Sign in on this phone")
        lead.wait_for_url("**/people")
        lead.fill("#name", "Bea of the night shift")
        lead.select_option("#role", "crew")
        lead.tap("text=Let in")
        link = lead.locator(".code.long").inner_text()
        assert faults(lead) == []
        helper = open_page(link)
        helper.tap("text=Sign in on this phone")
        helper.wait_for_url("**/now")
        helper.locator(".task .strong").first.tap()
        expect(helper.locator(".written li")).to_contain_text("Bea of the night shift")
        assert faults(helper) == []
        lead.tap("text=No longer >> nth=1")
        expect(lead.locator(".written li")).to_have_count(1)
        helper.locator(".task .strong").first.tap()
        expect(helper.locator("#link-state")).to_contain_text("You are signed out")
        expect(helper.locator("#link-state")).to_contain_text("1 entry is kept on this phone")
        assert [entry.by for entry in all_entries(server.kitchen.database)] == ["Bea of the night shift"]


def test_sheets_come_out_of_the_printer(server: Served, open_page: OpenPage, tmp_path: Path) -> None:
    page = open_page(f"{server.url}/paper", phone=False)
    links = page.locator(".links a[href*='sheet=']")
    assert links.count() > 5
    href = page.locator("a", has_text="Labels").first.get_attribute("href")
    kept = server.kitchen.plan(number_in_force(server.kitchen.database) or 0)
    codes = {load.code for load in kept.plan.loads}
    for name, path in (("labels", href), ("all", "/paper/1/print")):
        page.goto(f"{server.url}{path}")
        pdf = tmp_path / f"{name}.pdf"
        page.pdf(path=str(pdf), prefer_css_page_size=True, format="Letter")
        pages = PdfReader(str(pdf)).pages
        texts = [sheet.extract_text() for sheet in pages]
        sizes = {tuple(sorted((float(sheet.mediabox.width), float(sheet.mediabox.height)))) for sheet in pages}
        assert sizes == {(612, 792)}, "Letter, upright or across"
        assert all(len(text.strip()) > 20 for text in texts), "a page is empty"
        assert all(code in "".join(texts) for code in codes)
    assert len(pages) >= links.count()
    for person in {shift.person for shift in kept.plan.shifts}:
        assert any(person in text for text in texts)
