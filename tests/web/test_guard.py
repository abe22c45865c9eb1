"""Who may call, from where, with how much; what browsers are told; signing in and guessing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path

import httpx
import pytest
from web_server import Served, copied, corner_plan, served, settings_of, values_in

from web.guard import is_own, own_names
from web.settings import MOST_BODY_BYTES, Settings, is_loopback
from web.store.deeds import last_deeds
from web.store.entries import all_entries
from web.store.people import MOST_GUESSES, accounts, locked, set_account, wrong_guess

PAGES = ["/weekend", "/plans", "/plans/1", "/now", "/service", "/forecast", "/paper", "/after", "/help", "/people"]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(settings_of(copied(tmp_path_factory.mktemp("open")))) as found:
        yield found


@pytest.fixture
def client(server: Served) -> Iterator[httpx.Client]:
    with server.client() as found:
        yield found


@pytest.fixture
def shut(tmp_path: Path) -> Iterator[Served]:
    """A server that phones can reach, so that everybody signs in."""
    settings = settings_of(copied(tmp_path), host="0.0.0.0")
    with served(settings) as found:
        at = settings.now()
        set_account(found.kitchen.database, "Ana", "lead", "a long password", by="", at=at)
        set_account(found.kitchen.database, "Ben", "crew", "471100", by="Ana", at=at)
        set_account(found.kitchen.database, "Cal", "counter", "471101", by="Ana", at=at)
        yield found


@pytest.mark.parametrize("path", [*PAGES, "/nowhere", "/plans/99", "/static/pit.css"])
def test_every_answer_carries_the_headers(client: httpx.Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == (404 if path in ("/nowhere", "/plans/99") else 200)
    policy = answer.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize("path", PAGES)
def test_no_page_has_inline_script_or_style_or_asks_anybody_else(client: httpx.Client, path: str) -> None:
    text = client.get(path).text
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r"\son\w+\s*=", text)
    assert " style=" not in text
    assert "<style" not in text
    assert set(re.findall(r'(?:src|href)="(https?:)?//', text)) == set()


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "10.0.0.5", ""])
def test_a_name_that_is_not_its_own_is_not_answered(client: httpx.Client, host: str) -> None:
    assert client.get("/now", headers={"host": host}).status_code == 400


def test_reachable_from_outside_it_answers_by_address_but_by_no_foreign_name(tmp_path: Path) -> None:
    settings = Settings(folder=tmp_path, host="0.0.0.0", names=("pit.lan",))
    names = own_names(settings)
    assert all(is_own(host, names, settings) for host in ("192.168.1.7", "[fe80::1]", "pit.lan", "localhost"))
    assert not is_own("rebound.example", names, settings)


@pytest.mark.parametrize(
    ("host", "mine"), [("127.0.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("pit.lan", False)]
)
def test_only_this_machine_is_let_in_without_signing_in(host: str, mine: bool, tmp_path: Path) -> None:
    assert is_loopback(host) is mine
    assert Settings(folder=tmp_path, host=host).open_door is mine


@pytest.mark.parametrize("origin", ["http://evil.example", "null", ""])
@pytest.mark.parametrize("path", ["/weekend", "/entries", "/note", "/plans/1/use", "/people", "/forecast", "/broke"])
def test_what_another_page_sends_changes_nothing(server: Served, path: str, origin: str) -> None:
    before = len(last_deeds(server.kitchen.database, 1000))
    with httpx.Client(base_url=server.url) as stranger:
        assert stranger.post(path, headers={"origin": origin} if origin else {}).status_code == 403
    assert len(last_deeds(server.kitchen.database, 1000)) == before


def test_too_much_is_not_read_whatever_it_says_of_itself(client: httpx.Client) -> None:
    assert client.post("/entries", content=b" " * (MOST_BODY_BYTES + 1)).status_code == 413

    def endless() -> Iterator[bytes]:
        for _ in range(MOST_BODY_BYTES // 65536 + 2):
            yield b" " * 65536

    assert client.post("/entries", content=endless()).status_code == 413


# Signing in


def sign_in(client: httpx.Client, name: str, secret: str, to: str = "/") -> httpx.Response:
    return client.post("/sign-in", data={"name": name, "secret": secret, "to": to})


def test_nobody_sees_anything_before_signing_in(shut: Served) -> None:
    with shut.client() as client:
        for path in PAGES:
            answer = client.get(path)
            assert (answer.status_code, answer.headers["location"]) == (303, f"/sign-in?to={path}")
        assert client.get("/now/board", headers={"accept": "*/*"}).status_code == 401
        assert client.post("/entries", json={"entries": []}).status_code == 401


@pytest.mark.parametrize(
    ("name", "secret", "sees", "not_for"),
    [
        ("Ana", "a long password", PAGES, []),
        ("Ben", "471100", ["/now", "/plans", "/service", "/paper", "/help"], ["/weekend", "/forecast", "/people"]),
        ("Cal", "471101", ["/service", "/help"], ["/now", "/weekend", "/plans", "/paper", "/after", "/broke"]),
    ],
)
def test_each_sees_what_is_theirs(shut: Served, name: str, secret: str, sees: list[str], not_for: list[str]) -> None:
    with shut.client() as client:
        assert sign_in(client, name, secret).status_code == 303
        assert {path: client.get(path).status_code for path in sees} == dict.fromkeys(sees, 200)
        assert {path: client.get(path).status_code for path in not_for} == dict.fromkeys(not_for, 403)
        client.post("/sign-out")
        assert client.get(sees[0]).status_code == 303


def test_the_counter_counts_and_does_not_tick(shut: Served) -> None:
    sold = {"kind": "sold", "cut": "sausage", "portions": 1}
    probe = {"kind": "probe", "load": "BR01", "temp_f": 165}
    with shut.client() as client:
        sign_in(client, "Cal", "471101")
        sent = [{"key": f"key-0000000{i}", "what": "note", "event": event} for i, event in enumerate((sold, probe))]
        answer = client.post("/entries", json={"entries": sent}).json()
    assert list(answer["kept"]) == ["key-00000000"]
    assert "for the crew" in answer["refused"]["key-00000001"]


def test_the_counter_takes_back_what_was_counted_and_nothing_of_the_crew(shut: Served) -> None:
    down, sold = {"kind": "down", "place": "north"}, {"kind": "sold", "cut": "sausage", "portions": 1}
    undo = {"key": "key-00000003", "what": "undo"}
    with shut.client() as crew, shut.client() as counter:
        sign_in(crew, "Ben", "471100")
        sign_in(counter, "Cal", "471101")
        sent = [{"key": f"key-0000000{i}", "what": "note", "event": event} for i, event in enumerate((down, sold))]
        first, second = crew.post("/entries", json={"entries": sent}).json()["kept"].values()
        for refused in (
            undo | {"undoes": first},
            undo | {"undoes": 99},
            undo | {"undoes": second, "event": down},
            {"key": "key-00000003", "what": "done", "task": "abc", "event": sold},
        ):
            answer = counter.post("/entries", json={"entries": [refused]}).json()
            assert answer == {"kept": {}, "refused": {"key-00000003": "That is for the crew to note."}}
        assert counter.post("/entries", json={"entries": [undo | {"undoes": second}]}).json()["refused"] == {}
    assert [entry.undone for entry in all_entries(shut.kitchen.database)] == [False, True, False]


def test_a_lead_stays_lead(shut: Served) -> None:
    with shut.client() as lead:
        sign_in(lead, "Ana", "a long password")
        answer = lead.post("/people", data={"name": "Ana", "role": "counter", "secret": "", "press": "set"})
        assert (answer.status_code, "ask another lead" in answer.text) == (422, True)
        assert lead.get("/people").status_code == 200


def test_guessing_is_stopped_and_later_allowed_again(shut: Served) -> None:
    with shut.client() as client:
        answers = [sign_in(client, "Ben", f"{n:06d}").status_code for n in range(MOST_GUESSES + 1)]
        assert answers == [401] * MOST_GUESSES + [429]
        assert sign_in(client, "Ben", "471100").status_code == 429, "the right PIN tells a guesser nothing either"
    now = shut.kitchen.settings.now()
    assert locked(shut.kitchen.database, "name Ben", now)
    assert not locked(shut.kitchen.database, "name Ben", now + timedelta(minutes=16))


def test_one_who_is_not_there_answers_like_a_wrong_pin(shut: Served) -> None:
    with shut.client() as client:
        known, unknown = sign_in(client, "Ben", "000000"), sign_in(client, "Zoe", "000000")
    assert known.status_code == unknown.status_code == 401
    assert known.text.replace("Ben", "Zoe") == unknown.text


@pytest.mark.parametrize("to", ["https://evil.example", "//evil.example", "/\\evil.example"])
def test_after_signing_in_nobody_is_sent_elsewhere(shut: Served, to: str) -> None:
    with shut.client() as client:
        assert sign_in(client, "Ben", "471100", to).headers["location"] == "/"


def test_after_signing_in_one_is_where_one_wanted_to_be_with_all_that_was_asked(shut: Served) -> None:
    with shut.client() as client:
        sent = client.get("/compare?left=1&right=1").headers["location"]
        assert sent == "/sign-in?to=/compare%3Fleft%3D1%26right%3D1"
        to = values_in(client.get(sent).text)["to"]
        assert sign_in(client, "Ana", "a long password", unescape(to)).headers["location"] == "/compare?left=1&right=1"
        assert client.get("/sign-in?to=//evil.example%3Fa%3D1").text.count("evil") == 0


def test_the_cookie_is_kept_from_scripts_and_other_sites(shut: Served) -> None:
    with shut.client() as client:
        cookie = sign_in(client, "Ben", "471100").headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "secure" not in cookie, "over plain HTTP a browser would not send it back"


def test_a_link_signs_in_only_when_it_is_pressed_and_until_there_is_a_new_one(shut: Served) -> None:
    database, at = shut.kitchen.database, shut.kitchen.settings.now()
    word = set_account(database, "Dot", "crew", "not used at all", by="Ana", at=at)
    with shut.client() as client:
        assert client.get(f"/link/{word}").status_code == 200
        assert client.get("/now").status_code == 303
        assert client.post(f"/link/{word}").headers["location"] == "/"
        assert client.get("/now").status_code == 200
        set_account(database, "Dot", "crew", "not used at all", by="Ana", at=at)
        assert client.get("/now").status_code == 303, "a new link ends the old sessions"
        assert client.post(f"/link/{word}").status_code == 401


def test_the_lead_lets_people_in_and_out(shut: Served) -> None:
    with shut.client() as lead, shut.client() as crew:
        sign_in(lead, "Ana", "a long password")
        short = lead.post("/people", data={"name": "Eve", "role": "crew", "secret": "123"})
        assert (short.status_code, "too short" in short.text) == (422, True)
        made = lead.post("/people", data={"name": "Eve", "role": "crew", "secret": "", "press": "set"})
        link = re.search(r"http://[^<\s]*(/link/[\w-]+)", made.text)
        assert link is not None
        assert crew.post(link[1]).status_code == 303
        assert crew.get("/now").status_code == 200
        lead.post("/people", data={"name": "Eve", "press": "end"})
        assert crew.get("/now").status_code == 303
        assert lead.post("/people", data={"name": "Ana", "press": "end"}).status_code == 422
    assert any(deed.what == "may no longer sign in" for deed in last_deeds(shut.kitchen.database, 50))


def test_secrets_lie_nowhere_in_the_data(shut: Served) -> None:
    database = shut.kitchen.database
    word = set_account(database, "Fay", "crew", "99887766", by="", at=shut.kitchen.settings.now())
    with shut.client() as client:
        cookie = sign_in(client, "Fay", "99887766").cookies["pit_session"]
    copy = shut.kitchen.settings.folder / "copy.sqlite3"
    database.backup(copy)
    body = copy.read_bytes()
    assert not any(secret.encode() in body for secret in ("99887766", word, cookie))
    assert b"$argon2id$" in body
    assert {account.name for account in accounts(database)} >= {"Ana", "Fay"}


def test_one_who_signs_in_sees_their_own_work_first(shut: Served) -> None:
    name = corner_plan().shifts[0].person
    word = set_account(shut.kitchen.database, name, "crew", "471102", by="Ana", at=shut.kitchen.settings.now())
    with shut.client() as client:
        client.post(f"/link/{word}")
        assert f"<option selected>{name}</option>" in client.get("/now").text
        assert "<option selected>" not in client.get("/now?person=").text


def test_a_session_ends_when_nobody_used_it_for_long(tmp_path: Path) -> None:
    clock = [datetime(2026, 5, 16, 9, tzinfo=UTC)]
    settings = Settings(folder=copied(tmp_path), host="0.0.0.0", now=lambda: clock[0], idle=timedelta(hours=8))
    with served(settings) as found, found.client() as client:
        word = set_account(found.kitchen.database, "Ana", "crew", "471100", by="", at=clock[0])
        client.post(f"/link/{word}")
        for hours, status in ((7, 200), (7, 200), (9, 303)):
            clock[0] += timedelta(hours=hours)
            assert client.get("/now").status_code == status


def test_wrong_guesses_from_one_place_count_whatever_the_name(shut: Served) -> None:
    now = shut.kitchen.settings.now()
    for _ in range(MOST_GUESSES):
        wrong_guess(shut.kitchen.database, "from 127.0.0.1", now)
    with shut.client() as client:
        assert sign_in(client, "Cal", "471101").status_code == 429
