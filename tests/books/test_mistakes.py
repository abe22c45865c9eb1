"""Each mistake in a scenario folder gives one sentence that names file, item, field and mend."""

from __future__ import annotations

from pathlib import Path

import pytest
from books.mistakes import MISTAKES, copy_of

from scheduler.audit.safety import LEAST_DONE_F
from scheduler.books import read_scenario, safety_checks
from scheduler.errors import InputError
from scheduler.trade import food_safety


def sentences(folder: Path) -> list[str]:
    """What is wrong with a folder."""
    with pytest.raises(InputError) as caught:
        read_scenario(folder)
    return [problem.sentence() for problem in caught.value.problems]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sound scenario folder to spoil."""
    return copy_of("corner-saturday", tmp_path)


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_gives_its_one_sentence(name: str, folder: Path) -> None:
    MISTAKES[name].make(folder)
    assert sentences(folder) == [MISTAKES[name].sentence]


def test_mistakes_of_all_files_come_at_once(folder: Path) -> None:
    names = ("negative number", "early above likely", "shift of 30 hours", "wave after closing", "unknown firebox")
    for name in names:
        MISTAKES[name].make(folder)
    assert sorted(sentences(folder)) == sorted(MISTAKES[name].sentence for name in names)


def test_an_unsound_entry_hides_no_mistake_of_the_others(folder: Path) -> None:
    MISTAKES["code in small letters"].make(folder)
    MISTAKES["no rack is hot enough"].make(folder)
    MISTAKES["time with an offset"].make(folder)
    MISTAKES["serving after closing"].make(folder)
    assert sorted(sentences(folder)) == sorted(
        MISTAKES[name].sentence
        for name in ("code in small letters", "no rack is hot enough", "time with an offset", "serving after closing")
    )


@pytest.mark.parametrize("setting", ["unknown time zone", "number in quotes", "closing with an offset"])
def test_an_unsound_setting_hides_no_mistake_of_its_file(setting: str, folder: Path) -> None:
    MISTAKES[setting].make(folder)
    MISTAKES["piece larger than any rack"].make(folder)
    MISTAKES["negative number"].make(folder)
    MISTAKES["mended before broken"].make(folder)
    expected = {MISTAKES[name].sentence for name in (setting, "negative number", "mended before broken")}
    assert expected <= set(sentences(folder))


def test_an_unsound_cut_is_still_a_known_name(folder: Path) -> None:
    MISTAKES["missing setting"].make(folder)
    assert sentences(folder) == [MISTAKES["missing setting"].sentence]


def test_an_unsound_smoker_leaves_its_cuts_in_peace(folder: Path) -> None:
    site = folder / "site.toml"
    site.write_text(site.read_text().replace("spaces = 6", 'spaces = "6"').replace("spaces = 5", 'spaces = "5"'))
    found = sentences(folder)
    assert len(found) == 2
    assert all('rack "' in sentence and "spaces" in sentence for sentence in found)


@pytest.mark.parametrize("name", ["site.toml", "menu.toml", "crew.toml", "weekend.toml"])
def test_a_missing_file(name: str, folder: Path) -> None:
    (folder / name).unlink()
    assert sentences(folder) == [f"{name}: the file is missing; add it to {folder}."]


@pytest.mark.parametrize("name", ["site.toml", "menu.toml", "crew.toml", "weekend.toml"])
def test_an_empty_file_lacks_its_settings_and_nothing_else(name: str, folder: Path) -> None:
    (folder / name).write_text("")
    found = sentences(folder)
    assert found
    ends = ("it is missing; add it.", "table.")
    assert all(s.endswith(ends) for s in found if s.startswith(name)), found
    # The names that the other files use are gone with it, which is told too.
    assert all("is called" in s or "takes it" in s for s in found if not s.startswith(name)), found


def test_no_such_folder(tmp_path: Path) -> None:
    missing = tmp_path / "nowhere"
    assert sentences(missing) == [f"{missing}: there is no such folder; give the path of a scenario folder."]


def test_a_file_instead_of_a_folder(folder: Path) -> None:
    file = folder / "site.toml"
    assert sentences(file) == [f"{file}: is a file; give the path of a scenario folder."]


def test_a_folder_where_a_file_belongs(folder: Path) -> None:
    (folder / "menu.toml").unlink()
    (folder / "menu.toml").mkdir()
    (found,) = sentences(folder)
    assert found.startswith("menu.toml: the file cannot be read (")


def test_a_file_that_is_not_text(folder: Path) -> None:
    (folder / "crew.toml").write_bytes(b'name = "\xff\xfe"')
    assert sentences(folder) == ["crew.toml: the file is not UTF-8 text; save it again as UTF-8."]


@pytest.mark.parametrize("value", ["1" * 5000, "[" * 100_000])
def test_a_value_that_cannot_be_read(value: str, folder: Path) -> None:
    crew = folder / "crew.toml"
    crew.write_text(crew.read_text().replace("longest_shift_min = 600", f"longest_shift_min = {value}"))
    (found,) = sentences(folder)
    assert found.startswith("crew.toml: is not valid TOML")
    assert found.endswith("; correct it.")
    assert len(found) < 300


def test_a_byte_order_mark_is_no_mistake(folder: Path) -> None:
    file = folder / "crew.toml"
    file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes())
    assert read_scenario(folder).crew.person("Wade")


def test_a_cabinet_too_cold_to_be_safe(folder: Path) -> None:
    # 135 F: FDA Food Code 3-501.16(A)(1).
    site = folder / "site.toml"
    site.write_text(site.read_text().replace("hold_f = 150", "hold_f = 134"))
    menu = folder / "menu.toml"
    menu.write_text(menu.read_text().replace("hold_low_f = 140", "hold_low_f = 130"))
    assert sentences(folder) == [
        'site.toml: hold_cabinet "cabinet", hold_f: 134 F is too cold for hot holding '
        "(FDA Food Code 3-501.16: 135 F or above); set 135 or more."
    ]


def test_a_cut_that_stands_too_long_without_heat(folder: Path) -> None:
    # 4 h: FDA Food Code 3-501.19(B).
    menu = folder / "menu.toml"
    text = menu.read_text()
    menu.write_text(
        text.replace("hold_spaces = 0.03", "hold_spaces = 0").replace("hold_max_min = 180", "hold_max_min = 231")
    )
    assert sentences(folder) == [
        'menu.toml: cut "sausage", hold_max_min: it takes no hold_spaces, so it is not held hot, and '
        "rest_min + hold_max_min is 241 (FDA Food Code 3-501.19(B): 240 min at most); "
        "give it hold_spaces or shorten hold_max_min."
    ]
    menu.write_text(menu.read_text().replace("hold_max_min = 231", "hold_max_min = 230"))
    assert read_scenario(folder).menu.cut("sausage").hold_max_min == 230


def test_fat_that_is_not_rendered_long_enough(tmp_path: Path) -> None:
    # 170 F for 30 minutes: 9 CFR 315.1.
    folder = copy_of("first-frost", tmp_path)
    menu = folder / "menu.toml"
    menu.write_text(menu.read_text().replace("early_min = 150", "early_min = 29"))
    assert sentences(folder) == [
        'menu.toml: cut "fat trim pan", recipe: fat stays at 170 F or above for 30 min (9 CFR 315.1); '
        "give finish.early_min 30 or more."
    ]


def test_safety_figures_are_those_of_the_audit() -> None:
    assert safety_checks.LEAST_HOLD_F == food_safety.HOT_HOLD_MIN_F
    assert safety_checks.LONGEST_UNHELD_MIN == food_safety.TIME_CONTROL_MAX_MIN
    assert safety_checks.LEAST_RENDER_MIN == food_safety.TALLOW_MIN
    for family, (least, _) in safety_checks.LEAST_DONE_F.items():
        assert LEAST_DONE_F[family][0] == least
    assert set(LEAST_DONE_F) == set(safety_checks.LEAST_DONE_F)


def test_no_rack_takes_a_cut(folder: Path) -> None:
    site = folder / "site.toml"
    racks = site.read_text().replace("offset_f = ", 'fits = ["sausage", "half chicken", "spare ribs"]\noffset_f = ')
    site.write_text(racks)
    assert sentences(folder) == [
        f'menu.toml: cut "{cut}", name: no rack takes it; add it to the "fits" of a rack in site.toml.'
        for cut in ("packer brisket", "pork butt")
    ]


def test_a_wrapped_cut_needs_a_place_to_finish(folder: Path) -> None:
    menu = folder / "menu.toml"
    band = "finish_low_f = 300\nfinish_high_f = 320\n"
    text = menu.read_text().replace("finish_low_f = 255\nfinish_high_f = 290\n", band)
    menu.write_text(text.replace('wrap_kind = "paper"\n', f'wrap_kind = "paper"\n{band}', 1))
    (found,) = sentences(folder)
    assert found.startswith('menu.toml: cut "packer brisket", recipe: no rack that takes it gets to a temperature')


def test_times_that_the_clock_skips(folder: Path) -> None:
    # The clock of Chicago skips 2:00 to 3:00 am on Sunday, March 8, 2026 (tz database).
    weekend = folder / "weekend.toml"
    text = weekend.read_text().replace("2026-05-15", "2026-03-07").replace("2026-05-16", "2026-03-08")
    weekend.write_text(text.replace("at = 2026-03-08T12:00:00", "at = 2026-03-08T02:30:00"))
    crew = folder / "crew.toml"
    crew.write_text(
        crew.read_text()
        .replace('"fri"', '"sat"')
        .replace(
            'starts = 05:00:00\nlength_min = 480\ndays = ["sat"]', 'starts = 02:15:00\nlength_min = 480\ndays = ["sun"]'
        )
    )
    skipped = "does not exist in America/Chicago: the clock skips it"
    assert sentences(folder) == [
        f'weekend.toml: order "ball game", at: 2026-03-08 02:30 {skipped}; choose a time before or after the change.',
        f'crew.toml: pattern "early", starts: 2026-03-08 02:15 {skipped}; start it before or after the change.',
    ]


def test_times_that_the_clock_repeats_are_no_mistake(tmp_path: Path) -> None:
    folder = copy_of("first-frost", tmp_path)
    weekend = folder / "weekend.toml"
    weekend.write_text(
        weekend.read_text()
        + '\n[[out_of_use]]\nplace = "oven"\nfrom_at = 2026-11-01T01:30:00\nuntil_at = 2026-11-01T04:00:00\n'
    )
    assert read_scenario(folder).weekend.out_of_use[0].place == "oven"


def test_a_sentence_is_one_line_even_if_a_name_is_not(folder: Path) -> None:
    file = folder / "crew.toml"
    file.write_text(file.read_text().replace('name = "Wade"', 'name = "Wa\\nde\\u001b[2J"\nbirth_year = 1'))
    assert sentences(folder) == [
        'crew.toml: person "Wa?de?[2J", name: "Wa?de?[2J" has a letter that cannot be printed; '
        "write it with plain letters on one line.",
        'crew.toml: person "Wa?de?[2J", birth_year: no such setting is known; write birth_years if that is meant.',
    ]
