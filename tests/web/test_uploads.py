"""Histories from outside: looked at before anything is kept, limits, and nothing that a file says is believed."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import httpx
import pytest
from openpyxl import Workbook, load_workbook
from web_server import Served, copied, served, settings_of

from scheduler.errors import InputError
from web.store.uploads import kept_upload
from web.uploaded import MOST_BYTES, MOST_COLUMNS, MOST_UNPACKED_BYTES, csv_text

GOOD = "time,item,amount\n2026-05-02T11:10,packer brisket,3\n2026-05-02T12:40,sausage,5\n"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Served]:
    with served(settings_of(copied(tmp_path))) as found:
        yield found


@pytest.fixture
def client(server: Served) -> Iterator[httpx.Client]:
    with server.client(follow_redirects=True) as found:
        yield found


def upload(client: httpx.Client, body: bytes, name: str = "till.csv") -> httpx.Response:
    return client.post("/forecast/history", files={"sales": (name, body)})


def test_bad_rows_are_shown_before_anything_is_used(server: Served, client: httpx.Client) -> None:
    answer = upload(client, (GOOD + "2026-05-02T13:00,goat,2\nnever,sausage,x\n").encode())
    assert answer.status_code == 200
    assert "2 rows cannot be read" in answer.text
    assert "line 4" in answer.text
    assert "Use it without the bad rows" in answer.text
    assert kept_upload(server.kitchen.database) is None
    client.post(str(answer.url.path) + "/keep", follow_redirects=False)
    kept = kept_upload(server.kitchen.database)
    assert kept is not None
    assert kept.name == "till.csv"


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"when,what\n1,2\n", "there is no column"),
        (b"\xff\xfe\x00\x01", "neither UTF-8 text nor an XLSX workbook"),
        (b"PK\x03\x04 no zip at all", "not a workbook that can be read"),
        (b"", "Choose a file with sales first"),
    ],
)
def test_what_is_no_history_is_refused_in_words(server: Served, client: httpx.Client, body: bytes, said: str) -> None:
    answer = upload(client, body)
    assert answer.status_code == 422
    assert said in answer.text
    assert kept_upload(server.kitchen.database) is None


def test_a_workbook_is_read_like_the_same_csv() -> None:
    book = Workbook()
    sheet = book.worksheets[0]
    for row in (line.split(",") for line in GOOD.splitlines()):
        sheet.append(row)
    out = BytesIO()
    book.save(out)
    assert csv_text("till.xlsx", out.getvalue()) == GOOD


def test_a_formula_in_a_workbook_is_never_worked_out_nor_kept() -> None:
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.append(["time", "item", "amount"])
    sheet.append(["2026-05-02T11:10", '=HYPERLINK("http://evil.example","brisket")', "=1+1"])
    out = BytesIO()
    book.save(out)
    assert csv_text("till.xlsx", out.getvalue()) == "time,item,amount\n2026-05-02T11:10,,\n"


def test_a_sheet_that_is_too_wide_or_a_file_that_is_too_large_is_refused() -> None:
    book = Workbook()
    book.worksheets[0].append([*range(MOST_COLUMNS + 1)])
    out = BytesIO()
    book.save(out)
    with pytest.raises(InputError, match="columns"):
        csv_text("wide.xlsx", out.getvalue())
    with pytest.raises(InputError, match="larger than"):
        csv_text("till.csv", b"x" * (MOST_BYTES + 1))


def test_a_zip_that_blows_up_is_refused_by_what_it_says_and_by_what_it_is() -> None:
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * (MOST_UNPACKED_BYTES + 1))
    bomb = out.getvalue()
    assert len(bomb) < 100_000
    with pytest.raises(InputError, match="unpacks to far more"):
        csv_text("bomb.xlsx", bomb)
    lying = bomb.replace((MOST_UNPACKED_BYTES + 1).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    with pytest.raises(InputError):
        csv_text("lying.xlsx", lying)


def test_the_name_of_a_file_is_only_a_name(server: Served, client: httpx.Client) -> None:
    upload(client, GOOD.encode(), "../../../etc/<b>cron.csv")
    assert sorted(path.name for path in server.kitchen.settings.folder.iterdir() if path.suffix == ".csv") == []
    assert "<b>cron" not in client.get("/forecast/history/1").text


def test_what_goes_out_is_no_formula(server: Served, client: httpx.Client) -> None:
    body = client.get("/paper/1/plan.xlsx").content
    book = load_workbook(BytesIO(body))
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert len(cells) > 100
    assert [cell.value for cell in cells if cell.data_type == "f"] == []
    assert client.get("/paper/1/loads.csv").text.startswith("code,")
