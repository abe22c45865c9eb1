"""sales.csv and service-days.csv: tolerant of tills, strict about what cannot be read."""

from __future__ import annotations

import shutil
from datetime import datetime
from pathlib import Path

import pytest

from scheduler.books import read_history, read_scenario
from scheduler.errors import InputError
from scheduler.forecast.invented import main
from scheduler.model.history import History
from scheduler.model.scenario import Scenario
from scheduler.model.service import Till

SCENARIO = Path(__file__).parents[2] / "scenarios" / "harvest-weekend"


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return read_scenario(SCENARIO)


def till(scenario: Scenario, **settings: object) -> Scenario:
    """The scenario of a kitchen with another till."""
    weekend = scenario.weekend.model_copy(update={"sales": Till.model_validate(settings)})
    return scenario.model_copy(update={"weekend": weekend})


def history(folder: Path, scenario: Scenario, sales: str, days: str | None = None) -> History:
    (folder / "sales.csv").write_text(sales, encoding="utf-8")
    if days is not None:
        (folder / "service-days.csv").write_text(days, encoding="utf-8")
    return read_history(folder, scenario)


HEAD = "time,item,amount,price,ticket\n"


def test_the_shipped_history_is_sound_invented_and_small(scenario: Scenario) -> None:
    found = read_history(SCENARIO, scenario)
    assert (found.bad, found.notes) == ((), ())
    assert len(found.days) == 132
    assert {day.note for day in found.days} == {"invented"}
    assert all(file.stat().st_size < 1_000_000 for file in SCENARIO.iterdir())
    assert (SCENARIO / "sales.csv").read_text(encoding="utf-8").startswith("# Invented")


def test_the_shipped_history_is_what_the_generator_makes(tmp_path: Path, scenario: Scenario) -> None:
    """Not letter by letter: another numpy may draw otherwise."""
    main(tmp_path)
    made, shipped = read_history(tmp_path, scenario), read_history(SCENARIO, scenario)
    assert [(d.opened, d.closed) for d in made.days] == [(d.opened, d.closed) for d in shipped.days]
    assert sum(s.portions for s in made.sales) == pytest.approx(sum(s.portions for s in shipped.sales), rel=0.05)


def test_no_sales_is_told(tmp_path: Path, scenario: Scenario) -> None:
    found = read_history(tmp_path, scenario)
    assert found.days == ()
    assert found.notes == ("There is no sales.csv, so the forecast rests on the waves of weekend.toml alone.",)


@pytest.mark.parametrize("text", ["", "\n\n", HEAD, "# only a remark\n"])
def test_an_empty_file_is_told(text: str, tmp_path: Path, scenario: Scenario) -> None:
    found = history(tmp_path, scenario, text)
    assert found.sales == found.bad == ()
    assert "has no rows" in found.notes[0]


def test_a_row_is_a_sale(tmp_path: Path, scenario: Scenario) -> None:
    found = history(tmp_path, scenario, HEAD + "2026-06-06T11:20,BR,2,$25.00,17\n")
    [sale] = found.sales
    assert (sale.at, sale.cut, sale.portions) == (datetime(2026, 6, 6, 11, 20), "packer brisket", 2.0)
    assert (sale.price_cents, sale.ticket) == (2500, "17")
    assert "lacks 1 day with sales" in found.notes[0]
    assert found.days[0].opened == datetime(2026, 6, 6, 11, 15)


def test_every_bad_row_is_told_with_its_line_and_the_others_stay(tmp_path: Path, scenario: Scenario) -> None:
    rows = [
        "2026-06-06T11:00,packer brisket,2,,",
        "yesterday,packer brisket,2,,",
        "2026-06-06T11:00,brisquet,2,,",
        "2026-06-06T11:00,packer brisket,two,,",
        "2026-06-06T11:00,packer brisket,-2,,",
        "2026-06-06T11:00-05:00,packer brisket,2,,",
        "2026-06-06T11:00,packer brisket,1,cheap,",
        "2026-06-06T11:00",
        '2026-06-06T11:00,packer brisket,"1,5",,',
        "2026-06-06T11:05,pork butt,1,,",
    ]
    found = history(tmp_path, scenario, HEAD + "\n".join(rows) + "\n")
    assert [sale.cut for sale in found.sales] == ["packer brisket", "pork butt"]
    assert [problem.item for problem in found.bad] == [f"line {n}" for n in range(3, 11)]
    told = "\n".join(problem.sentence() for problem in found.bad)
    for words in ('"yesterday" is not a date', "packer brisket", '"two" is not a number', "carries an offset"):
        assert words in told
    assert len(found.sales) + len(found.bad) == len(rows)


def test_a_till_of_another_make(tmp_path: Path, scenario: Scenario) -> None:
    text = "Sold at;Product;Qty\n06/06/2026 11:00;Brisket plate;1.5\n06/06/2026 11:05;Soda;2\n06/06/2026 11:06;Butt;1\n"
    other = till(
        scenario,
        columns={"time": "Sold at", "item": "Product", "amount": "Qty"},
        items={"brisket plate": "packer brisket", "Soda": "", "Butt": "pork butt"},
        unit="lb",
        portion_lb={"packer brisket": 0.5},
        time_format="%m/%d/%Y %H:%M",
    )
    found = history(tmp_path, other, text)
    assert found.bad == ()
    assert [(s.cut, round(s.portions, 6)) for s in found.sales] == [("packer brisket", 3.0), ("pork butt", 3.0)]


def test_pieces_are_counted_in_portions(tmp_path: Path, scenario: Scenario) -> None:
    found = history(tmp_path, till(scenario, unit="pieces"), HEAD + "2026-06-06T11:00,spare ribs,2,,\n")
    assert found.sales[0].portions == 2 * scenario.menu.cut("spare ribs").portions


def test_a_missing_heading_is_an_error(tmp_path: Path, scenario: Scenario) -> None:
    with pytest.raises(InputError) as error:
        history(tmp_path, scenario, "when,item,amount\n")
    assert 'there is no column "time"' in str(error.value)


def test_a_mapping_to_an_unknown_cut_is_an_error(tmp_path: Path, scenario: Scenario) -> None:
    with pytest.raises(InputError) as error:
        history(tmp_path, till(scenario, items={"Plate": "packer briskett"}), HEAD)
    assert 'write "packer brisket"' in str(error.value)


DAYS = "opened,closed,sold_out,weather,event,note\n"


def test_sold_out_times_weather_and_events(tmp_path: Path, scenario: Scenario) -> None:
    row = "2026-06-06T11:00,2026-06-06T17:00,packer brisket 14:40; SR,Rain,Parade,windy\n"
    [day] = history(tmp_path, scenario, HEAD, DAYS + row).days
    assert day.sold_out == {"packer brisket": datetime(2026, 6, 6, 14, 40), "spare ribs": None}
    assert (day.weather, day.event, day.note) == ("rain", "parade", "windy")


def test_bad_days_are_told(tmp_path: Path, scenario: Scenario) -> None:
    rows = [
        "2026-06-06T11:00,2026-06-06T10:00,,,,",
        "2026-06-07T11:00,2026-06-07T17:00,packer brisket 25:00,,,",
        "2026-06-08T11:00,2026-06-08T17:00,packer brisket 18:00,,,",
        "2026-06-09T11:00,2026-06-09T17:00,,,,",
        "2026-06-09T12:00,2026-06-09T17:00,,,,",
    ]
    found = history(tmp_path, scenario, HEAD, DAYS + "\n".join(rows) + "\n")
    assert [(p.file, p.item) for p in found.bad] == [("service-days.csv", f"line {n}") for n in (2, 3, 4, 6)]
    assert len(found.days) == 1


def test_a_file_with_a_mark_before_its_first_letter(tmp_path: Path, scenario: Scenario) -> None:
    (tmp_path / "sales.csv").write_bytes(b"\xef\xbb\xbf" + HEAD.encode() + b"2026-06-06T11:00,SA,1,,\r\n")
    assert len(read_history(tmp_path, scenario).sales) == 1


def test_a_scenario_with_a_history_reads_as_before(tmp_path: Path, scenario: Scenario) -> None:
    folder = tmp_path / "harvest"
    shutil.copytree(SCENARIO, folder)
    assert read_scenario(folder) == scenario
