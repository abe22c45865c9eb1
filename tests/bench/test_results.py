"""Records there and back, what contradicts what, gaps and times, tables and picture."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from scheduler.bench.growth import growth_svg
from scheduler.bench.one import METHODS, OURS
from scheduler.bench.outcome import Record, reached, thinned, time_to
from scheduler.bench.results import Results, changed, contradictions, machine, read_results
from scheduler.bench.table import markdown, middle, sooner
from scheduler.errors import InputError

RUN = Record(
    family="M",
    variant="easy",
    seed=0,
    method=OURS,
    part=False,
    scenario_hash="abc",
    grid_min=15,
    seconds=60.0,
    took_s=61.0,
    first_s=1.0,
    first_cents=1200,
    cents=1000,
    bound_cents=980,
    gap=0.02,
    gap_s={"5": 10.0, "2": 50.0, "1": None, "0.1": None},
    found=((1.0, 1200), (5.0, 1100), (40.0, 1000)),
    memory_mb=700,
    note="",
    more={
        "cores": 1.8,
        "answer_s": 61.0,
        "reshuffle_first_s": 0.4,
        "reshuffle_3s_cents": 1010.0,
        "reshuffle_15s_cents": 1000.0,
    },
)
PEER = replace(RUN, method="counting back", cents=1100, bound_cents=None, gap=None, found=((20.0, 1100),), more={})


def results(*records: Record) -> Results:
    return Results({"date": "2026-01-01"}, records)


def test_results_come_back_as_they_were(tmp_path: Path) -> None:
    made = Results(machine(), (RUN, PEER, replace(PEER, cents=None, found=(), first_s=None, first_cents=None)))
    made.write(tmp_path / "results.json")
    assert read_results(tmp_path / "results.json") == made
    assert [file.name for file in tmp_path.iterdir()] == ["results.json"]


@pytest.mark.parametrize("text", ["[]", '{"format": 1}', '{"format": 9, "machine": {}, "records": []}', "{"])
def test_what_is_no_results_is_one_sentence(text: str, tmp_path: Path) -> None:
    file = tmp_path / "other.json"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as error:
        read_results(file)
    assert len(error.value.problems) == 1
    assert str(error.value).startswith("other.json: ")


# Contradictions


def test_a_new_cost_below_an_old_bound_is_a_contradiction() -> None:
    cheaper = replace(RUN, cents=979, bound_cents=900)
    assert list(contradictions(results(RUN))) == []
    (said,) = contradictions(results(cheaper), results(RUN))
    assert said == ("M, easy, 0: this program has a plan at 979 cents, and by this program none costs less than 980")


def test_a_peer_below_the_bound_is_one_too() -> None:
    assert len(list(contradictions(results(RUN, replace(PEER, cents=970))))) == 1
    assert list(contradictions(results(RUN, replace(PEER, cents=980)))) == []


@pytest.mark.parametrize(
    "other", [{"scenario_hash": "other"}, {"grid_min": 5}, {"part": True, "scenario_hash": "part"}, {"cents": None}]
)
def test_other_weekends_contradict_nothing(other: dict[str, object]) -> None:
    cheaper = replace(RUN, cents=900, bound_cents=None)
    assert list(contradictions(results(replace(cheaper, **other)), results(RUN))) == []  # type: ignore[arg-type]


def test_a_weekend_that_changed_is_named() -> None:
    assert changed(results(RUN), results(RUN)) == []
    assert changed(results(replace(RUN, scenario_hash="other")), results(RUN)) == ["M, easy, 0"]


# Gaps and times


def test_a_gap_counts_from_when_plan_and_bound_were_known() -> None:
    history = ((0.5, None, 900), (1.0, 1000, 0), (2.0, 1000, 960), (3.0, 980, 970), (4.0, 980, 980))
    assert reached(history) == {"5": 2.0, "2": 3.0, "1": 4.0, "0.1": 4.0}
    assert reached(((1.0, 0, 0),))["0.1"] == 1.0


def test_little_steps_are_left_out() -> None:
    found = tuple((float(i), 100_000 - i) for i in range(200))
    kept = thinned(found)
    assert kept[0] == found[0]
    assert kept[-1] == found[-1]
    assert len(kept) < 10


def test_sooner_is_the_time_to_the_same_cost() -> None:
    assert time_to(RUN, 1100) == 5.0
    assert time_to(RUN, 999) is None
    assert sooner(PEER, RUN) == 4.0
    assert sooner(replace(PEER, cents=900), RUN) == 0.0
    assert sooner(replace(PEER, cents=None), RUN) is None


def test_what_was_not_reached_is_later_than_all() -> None:
    assert middle([1.0, None, 3.0], "{:g}") == "3"
    assert middle([1.0, None, None], "{:g}") == "–"
    assert middle([], "{:g}") == "–"


# What is shown


def test_the_tables_tell_what_the_records_hold() -> None:
    text = markdown(results(RUN, PEER, replace(PEER, method=METHODS[1], cents=None, found=(), note="no time")))
    assert "The reshuffle:\n\n- M, easy, 0: no loads" in markdown(results(replace(RUN, note="no loads")))
    assert "date 2026-01-01" in text
    assert (
        "| M | easy | 1 | 60 | 1.8 | 61 | 1.0 | +20.0% | 10.0 | 50.0 | – | 2.0% | $10 | $10 | 700 | 0.40 | +1.0% |"
        in text
    )
    assert "| M | counting back | 1 | 1 | $11.00 | $10.00 | +10.0% | 1 of 1 | 4.0 times | – |" in text
    assert "| M | the best of them, whole weekend | 1 | 1 | $11.00 | $10.00 | +10.0% | 1 of 1 | 4.0 times | – |" in text
    assert f"| M | {METHODS[1]} | 1 | 0 | – | – | – | 1 of 1 | – | – |" in text
    assert f"- M, easy, 0, {METHODS[1]}: no time" in text


def test_the_picture_has_a_dot_for_each_run_in_each_panel() -> None:
    runs = [replace(RUN, family=family, seed=seed) for family in ("S", "M", "XL") for seed in (0, 1)]
    picture = ElementTree.fromstring(growth_svg([*runs, PEER]))
    name = "{http://www.w3.org/2000/svg}"
    assert len(picture.findall(f"{name}circle")) == 4 * len(runs)
    words = [text.text or "" for text in picture.findall(f"{name}text")]
    assert [word for word in words if word.startswith("XL ")] == ["XL 1.0", "XL 1.0", "XL 700", "XL 700"]
    assert len(ElementTree.fromstring(growth_svg([])).findall(f"{name}circle")) == 0
