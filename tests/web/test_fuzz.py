"""Whatever is sent, the answer is a page or a sentence, never a failure of the program."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import httpx
import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis import Case
from schemathesis.checks import not_a_server_error
from schemathesis.schemas import APIOperation, BaseSchema
from web_server import Served, copied, served, settings_of

from scheduler.model.log import KINDS
from web.pages import ROUTERS

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=12,
)
FIELDS = ("load", "place", "rack", "pieces", "temp_f", "cut", "portions", "person", "until", "night", "at", "by")
EVENT = st.fixed_dictionaries({"kind": st.sampled_from([*KINDS, "nothing"])}, optional={name: JSON for name in FIELDS})
ENTRY = st.fixed_dictionaries(
    {
        "key": st.text("abc-0123", min_size=6, max_size=12),
        "what": st.sampled_from(["done", "late", "skip", "note", "undo"]),
    },
    optional={"task": JSON, "age_s": JSON, "event": EVENT | JSON, "reason": JSON, "undoes": JSON, "by": JSON},
)
NAMES = ("what", "which", "answer", "key", "task", "undoes", "event1", "probe", "temp_f", "load", "smoke", "load_at")
FORM = st.dictionaries(st.sampled_from(NAMES), st.text(max_size=30), max_size=6)
RELAXED = settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(settings_of(copied(tmp_path_factory.mktemp("fuzz")))) as found:
        yield found


@pytest.fixture(scope="module")
def client(server: Served) -> Iterator[httpx.Client]:
    with server.client() as found:
        yield found


@RELAXED
@given(st.lists(ENTRY | JSON, max_size=4))
def test_entries(client: httpx.Client, sent: list[object]) -> None:
    answer = client.post("/entries", json={"entries": sent})
    assert answer.status_code == 200
    told = answer.json()
    assert set(told) == {"kept", "refused"}
    assert client.get("/now/board").status_code == 200, "what was kept breaks the board"


def described() -> BaseSchema:
    """The addresses as the program describes them (OpenAPI)."""
    app = FastAPI()
    for router in ROUTERS:
        app.include_router(router)
    return schemathesis.openapi.from_dict(app.openapi())


DESCRIBED = described()


@DESCRIBED.include(path="/entries").parametrize()
@settings(max_examples=50)
def test_the_json_that_comes_and_goes_is_as_described(case: Case, server: Served) -> None:
    """All of Schemathesis's checks: status, kind and shape of the answer, what breaks the description is refused."""
    case.call_and_validate(base_url=server.url, headers={"origin": server.url})


def asked(page: APIOperation) -> Callable[..., None]:
    """A test of one address, by all that Schemathesis thinks of."""

    @DESCRIBED.include(path=page.path, method=page.method).parametrize()
    @settings(max_examples=8)
    def test(case: Case, server: Served) -> None:
        case.call_and_validate(base_url=server.url, checks=[not_a_server_error])

    found: Callable[..., None] = test
    return found


# Each by a name of its own: one test for all addresses has one name for all its parts, and several cores run but one.
STREAM = "/search/{number}/stream"  # does not end
for found in DESCRIBED.include(method="GET").exclude(path=STREAM).get_all_operations():
    page = found.ok()
    name = re.sub(r"\W+", "_", page.path).strip("_") or "front"
    globals()[f"test_the_program_does_not_fail_at_{name}"] = asked(page)


@RELAXED
@given(JSON)
def test_any_json(client: httpx.Client, body: object) -> None:
    assert client.post("/entries", json=body).status_code in (200, 400)


@RELAXED
@given(st.sampled_from(["/note", "/broke", "/plans/1/move", "/weekend", "/forecast/take", "/after/take"]), FORM)
def test_forms(client: httpx.Client, path: str, form: dict[str, str]) -> None:
    assert client.post(path, data=form).status_code in (200, 303, 400, 404, 409, 422)
