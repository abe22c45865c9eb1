"""After the weekend: planned against real, and what was learned taken over with a reason."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from web_server import Served, copied, corner_plan, served, settings_of

from scheduler.model.plan import Load
from web.store.deeds import last_deeds
from web.store.scenarios import latest_version
from web.store.uploads import keep_answer

LATE_MIN = 45
COOKS = """cut,recipe,start,wrapped,done
packer brisket,275 tallow paper,2026-04-03T18:00,2026-04-03T22:00,2026-04-04T07:30
packer brisket,275 tallow paper,2026-04-10T18:00,2026-04-10T22:00,2026-04-11T07:50
"""
"""Two weekends before: later than the menu's range, too."""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Served]:
    folder = copied(tmp_path)
    (folder / "cooks.csv").write_text(COOKS, encoding="utf-8")
    with served(settings_of(folder, hour=20)) as found:
        yield found


@pytest.fixture
def client(server: Served) -> Iterator[httpx.Client]:
    with server.client() as found:
        yield found


def row_of(html: str, code: str) -> str:
    found = re.search(rf'<tr[^>]*><th scope="row"><span class="code">{code}</span> .*?</tr>', html, re.S)
    assert found is not None
    return found[0]


def written_down(client: httpx.Client, server: Served, load: Load) -> None:
    """A load done later than its range says, by so many minutes; and its portions counted until it was gone."""
    now = server.kitchen.settings.now()
    done = load.late_done_at + timedelta(minutes=LATE_MIN)
    cut = server.kitchen.weekend().scenario.menu.cut(load.cut)
    made = round(sum(one.pieces for one in corner_plan().loads if one.cut == load.cut) * cut.portions)
    events = [
        (done, {"kind": "done", "load": load.code}),
        (now - timedelta(hours=5), {"kind": "sold", "cut": load.cut, "portions": made}),
    ]
    sent = [
        {"key": f"key-after-{i:04d}", "what": "note", "event": event, "age_s": (now - at).total_seconds()}
        for i, (at, event) in enumerate(events)
    ]
    assert client.post("/entries", json={"entries": sent}).json()["refused"] == {}


def test_a_late_load_is_told_and_its_range_taken_into_the_next_weekend(server: Served, client: httpx.Client) -> None:
    load = next(load for load in corner_plan().loads if load.recipe == "275 tallow paper")
    assert "not written down" in row_of(client.get("/after").text, load.code)
    written_down(client, server, load)
    page = client.get("/after").text
    assert f"after late by {LATE_MIN} min" in row_of(page, load.code)
    assert "not written down" not in row_of(page, load.code)
    menu = server.kitchen.weekend().scenario.menu
    cells = r'.*?made">(\d+)<.*?sold">(\d+)<.*?left">0<.*?gone at">([^<]+)<'
    sold = re.search(rf'<th scope="row">{load.cut}</th>{cells}', page)
    assert sold is not None, "all of it was sold, and the hour at which it was gone is told"
    assert sold[1] == sold[2]
    took = f"${int(sold[2]) * menu.cut(load.cut).price_cents / 100:,.2f}"
    assert took in page
    field = f"{load.cut}|{load.recipe}"
    assert f'value="{field}"' in page
    assert client.post("/after/take", data={"recipe": field, "reason": " "}).status_code == 422, "a reason is asked for"
    before = menu.cut(load.cut).recipe(load.recipe).finish
    taken = client.post("/after/take", data={"recipe": field, "reason": "wet wood"}, follow_redirects=True)
    assert "Taken into the next weekend" in taken.text
    version = latest_version(server.kitchen.database)
    recipe = version.scenario.menu.cut(load.cut).recipe(load.recipe)
    assert recipe.finish != before
    assert recipe.finish.late_min >= before.late_min
    assert recipe.learned is not None
    assert recipe.learned.before == before
    assert "wet wood" in last_deeds(server.kitchen.database, 1)[0].detail
    again = client.post("/after/take", data={"recipe": "goat|none", "reason": "x"})
    assert again.status_code == 404


def test_what_was_asked_for_in_vain_is_told_where_there_is_a_forecast(server: Served, client: httpx.Client) -> None:
    load = next(load for load in corner_plan().loads if load.wrap_at is not None)
    written_down(client, server, load)
    day = server.kitchen.weekend().scenario.weekend.days[0].opens.date()
    draws = [[30] * 20, [40] * 20]
    data = {"odds": {f"{day}": {"minutes": 15, "cuts": {load.cut: draws}}}}
    keep_answer(server.kitchen.database, "forecast", data, server.kitchen.settings.now())
    assert re.search(r"<td[^>]*>about [1-9]\d*</td>", client.get("/after").text)
