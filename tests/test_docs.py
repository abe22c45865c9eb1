"""The two pages of documentation: complete, runnable, and true of the tree that they lie in."""

from __future__ import annotations

import ast
import json
import os
import re
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple, get_args, get_origin

import pytest
from books.mistakes import SCENARIOS, copy_of
from pydantic import BaseModel
from typer import Context
from typer.core import TyperArgument, TyperGroup
from typer.main import get_command

from scheduler.books import read_scenario
from scheduler.cli import app
from scheduler.model.crew import Crew
from scheduler.model.menu import Menu
from scheduler.model.site import Site
from scheduler.model.weekend import Weekend
from scheduler.trade.cautions import TOPICS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PAGES = {"README.md": README, "DEVELOPERS.md": DEVELOPERS}

TOP = {"pyproject.toml", "README.md", "DEVELOPERS.md", "scheduler", "web", "tests", "scenarios"}
"""What may lie in the top folder, files that start with a dot aside."""

OUTPUT = {"crew-plan.html", "loads.csv", "plan.json", "scenario.json", "shifts.ics"}
BRIEF_S = "2"
"""Seconds of search here, whatever the page says."""


class Block(NamedTuple):
    """A code block of a page."""

    page: str
    line: int
    language: str
    text: str


def blocks(page: str) -> Iterator[Block]:
    """All code blocks of a page, in order."""
    for match in re.finditer(r"^```(\w*)\n(.*?)^```$", PAGES[page], re.M | re.S):
        yield Block(page, PAGES[page][: match.start()].count("\n") + 1, match[1], match[2])


BLOCKS = [block for page in PAGES for block in blocks(page)]


def commands(block: Block) -> list[list[str]]:
    """Command lines of a block, in words; comments gone."""
    lines = block.text.replace("\\\n", " ").splitlines()
    return [words for line in lines if (words := shlex.split(line, comments=True))]


def section(page: str, heading: str) -> str:
    """What stands under a heading, up to the next of its rank or above."""
    rank = heading.split(" ")[0]
    assert page.count(f"\n{heading}\n") == 1, f"there is no one {heading!r}"
    after = page.split(f"\n{heading}\n")[1]
    return re.split(rf"^#{{1,{len(rank)}}} ", after, maxsplit=1, flags=re.M)[0]


def cells(text: str, column: int = 0) -> list[str]:
    """One column of the tables in a text, heads and rules included."""
    rows = [line.strip("| ") for line in text.splitlines() if line.startswith("|")]
    return [row.split(" | ")[column] for row in rows if row.count(" | ") >= column]


def coded(texts: list[str]) -> list[str]:
    """What stands between backticks."""
    return [found for text in texts for found in re.findall(r"`([^`]+)`", text)]


def tree() -> list[Path]:
    """Files that are, or would be, committed; relative to the top folder."""
    asked = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    done = subprocess.run(asked, cwd=ROOT, capture_output=True, check=False)
    if done.returncode:
        pytest.skip("not a git tree")
    names = done.stdout.decode().split("\0")
    return [Path(name) for name in names if name and (ROOT / name).exists()]


# The command line


def cli() -> TyperGroup:
    """The program's commands."""
    group = get_command(app)
    assert isinstance(group, TyperGroup)
    return group


def heading_of(name: str) -> str:
    """Heading of a command: its name and its arguments."""
    places = [p.metavar or str(p.name) for p in cli().commands[name].params if isinstance(p, TyperArgument)]
    return " ".join(["###", name, *(place.upper() for place in places)])


@pytest.mark.parametrize("name", sorted(cli().commands))
def test_every_option_has_its_line_and_no_line_is_without_option(name: str) -> None:
    command = cli().commands[name]
    params = command.get_params(Context(command))
    options = {opt for p in params for opt in p.opts if not isinstance(p, TyperArgument)}
    assert set(coded(cells(section(README, heading_of(name))))) == options


def test_every_command_has_its_section() -> None:
    told = {line.split()[1] for line in section(README, "## Commands").splitlines() if line.startswith("### ")}
    assert told == set(cli().commands)


def test_defaults_in_the_text_are_those_of_the_program() -> None:
    text = section(README, "### plan SCENARIO")
    rows = dict(zip(cells(text), cells(text, 1), strict=True))
    checked = 0
    for param in cli().commands["plan"].params:
        told = re.search(r"default (\d+)", rows.get(f"`{param.opts[0]}`", ""))
        if told:
            assert param.default == int(told[1])
            checked += 1
    assert checked == 3


def program(words: list[str]) -> list[str] | None:
    """What a command line says to the program; None if it runs something else."""
    if words[0] == ".venv/bin/pit-scheduler":
        return words[1:]
    if words[:3] == [".venv/bin/python", "-m", "scheduler"]:
        return words[3:]
    return None


SPOKEN = [words for block in BLOCKS if block.language == "sh" for line in commands(block) if (words := program(line))]


@pytest.mark.parametrize("words", SPOKEN, ids=" ".join)
def test_commands_in_the_pages_are_understood(words: list[str]) -> None:
    command = cli().commands[words[0]]
    context = command.make_context(words[0], list(words[1:]))
    for name in ("scenario", "plan_path"):
        given = context.params.get(name)
        if given is not None and given.parts[0] != "out":
            assert (ROOT / given).is_dir()


def brief(words: list[str]) -> list[str]:
    """The same with a short search."""
    return [BRIEF_S if before == "--seconds" else word for before, word in zip(["", *words], words, strict=False)]


def test_the_block_of_commands_runs_as_it_stands(tmp_path: Path) -> None:
    (tmp_path / "scenarios").symlink_to(SCENARIOS)
    first = next(block for block in blocks("README.md") if block.text in section(README, "## Commands"))
    said = []
    for words in commands(first):
        told = program(words)
        assert told is not None
        run = [sys.executable, "-m", "scheduler", *brief(told)]
        done = subprocess.run(run, cwd=tmp_path, env=environment(), capture_output=True, text=True, check=False)
        assert (done.returncode, told[0]) == (0, told[0]), done.stderr
        said.append(done.stdout)
    assert {file.name for file in (tmp_path / "out" / "corner-saturday").iterdir()} == OUTPUT
    planned, audited, shown, bought, rehearsed, forecast, wanted, tried, explained, schema = said
    assert "Planned and audited, no breach" in planned
    assert audited.startswith("No breach.")
    assert "Corner Saturday" in shown
    assert "packer brisket" in bought
    assert rehearsed.startswith("Rehearsed 1,000 times")
    assert "By noon" in forecast
    assert "The last earns" in wanted
    assert "The forecast beats both rules of thumb." in tried
    assert explained.startswith("COME-UP: ")
    assert json.loads(schema)["type"] == "object"


def test_json_is_all_that_json_prints(tmp_path: Path) -> None:
    words = ["plan", str(SCENARIOS / "corner-saturday"), "--out", str(tmp_path / "out"), "--seconds", BRIEF_S, "--json"]
    run = [sys.executable, "-m", "scheduler", *words]
    done = subprocess.run(run, cwd=tmp_path, env=environment(), capture_output=True, text=True, check=True)
    assert json.loads(done.stdout)["breaches"] == 0


def environment() -> dict[str, str]:
    """Finds this tree's program from any folder, installed or not."""
    return os.environ | {"PYTHONPATH": str(ROOT), "COLUMNS": "160"}


def test_the_files_that_come_out_are_told() -> None:
    assert set(coded(cells(section(README, "## What comes out")))) == OUTPUT


# Code blocks, links, pictures


@pytest.mark.parametrize("block", BLOCKS, ids=lambda b: f"{b.page}:{b.line}")
def test_blocks_are_of_their_language(block: Block) -> None:
    if block.language == "sh":
        done = subprocess.run(["bash", "-n"], input=block.text, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
    elif block.language == "toml":
        assert tomllib.loads(block.text)
    elif block.language == "python":
        parsed = ast.parse(block.text)
        imports = [node for node in parsed.body if isinstance(node, ast.Import | ast.ImportFrom)]
        assert imports
        exec(compile(ast.Module(imports, []), block.page, "exec"), {})  # the names that it takes are there
    else:
        assert block.language == "text"


def test_the_two_commands_are_two() -> None:
    plan, tests = (b for b in blocks("README.md") if b.text in section(README, "## Two commands"))
    assert program(commands(plan)[-1]) == ["plan", "scenarios/harvest-weekend", "--out", "out/harvest-weekend"]
    assert commands(tests)[-1] == [".venv/bin/pytest", "-n", "auto", "--dist", "loadfile"]


def test_ci_runs_the_test_command_of_the_readme() -> None:
    done = subprocess.run(["bash", ".ci/run", "--show"], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == list(blocks("README.md"))[1].text


@pytest.mark.parametrize("page", PAGES)
def test_links_and_pictures_are_there(page: str) -> None:
    for place in re.findall(r"\]\(([^)]+)\)", PAGES[page]):
        assert place.startswith("https://") or (ROOT / place).is_file(), place


@pytest.mark.parametrize("page", PAGES)
def test_files_that_a_page_names_are_there(page: str) -> None:
    for name in coded([PAGES[page]]):
        if re.fullmatch(r"(scheduler|tests|scenarios|\.ci|\.pictures)/[\w./-]*", name):
            assert (ROOT / name).exists(), name


def test_lines_fit_the_editor() -> None:
    for page, text in PAGES.items():
        long = [line for line in text.splitlines() if len(line) > 120 and not line.startswith(("|", "!["))]
        assert long == [], page


# Scenarios and settings


def test_every_scenario_is_told_and_every_one_told_is_there() -> None:
    told = coded(cells(section(README, "## Your own kitchen")))
    assert {name for name in told if name.startswith("scenarios/")} == {
        f"scenarios/{f.name}" for f in SCENARIOS.iterdir()
    }


def test_the_cut_in_the_readme_can_be_added(tmp_path: Path) -> None:
    block = next(b for b in blocks("README.md") if b.language == "toml")
    for name in ("corner-saturday", "harvest-weekend"):
        folder = copy_of(name, tmp_path)
        menu = folder / "menu.toml"
        menu.write_text(menu.read_text(encoding="utf-8") + "\n" + block.text, encoding="utf-8")
        [cut] = tomllib.loads(block.text)["cut"]
        assert read_scenario(folder).menu.cut(cut["name"]).recipes[0].name == cut["recipe"][0]["name"]


def tables_of(model: type[BaseModel], table: str = "") -> dict[str, set[str]]:
    """Settings of a file by table; what is written in braces counts to the table that it stands in."""
    found: dict[str, set[str]] = {table: set()}
    for name, field in model.model_fields.items():
        key = field.alias or name
        inner = [arg for arg in (field.annotation, *get_args(field.annotation)) if isinstance(arg, type)]
        models = [arg for arg in inner if issubclass(arg, BaseModel)]
        if get_origin(field.annotation) is tuple and models:
            found |= tables_of(models[0], f"{table}.{key}".strip("."))
        else:
            found[table] |= {key, *(part for one in models for part in one.model_fields)}
    return found


def told_of(text: str) -> dict[str, set[str]]:
    """What stands between backticks in the rows of settings, by the table that is named above or in the row."""
    found: dict[str, set[str]] = {"": set()}
    table = ""
    for row in (line for line in text.splitlines() if line.startswith("|")):
        for word in coded([row]):
            if word.startswith("[["):
                table = word.strip("[]")
                found[table] = set()
            else:
                found[table].add(word)
    return found


FILES: dict[str, type[BaseModel]] = {"site": Site, "menu": Menu, "crew": Crew, "weekend": Weekend}
VALUES: dict[str, set[str]] = {
    "": {"true", "false", "12h", "24h", "America/Chicago"},
    "cut": {"beef", "pork", "poultry", "sausage", "fat", "true", "false"},
    "cut.recipe": {"paper", "foil", "paper-and-tallow", "none", "250 paper", "true", "false"},
    "person": {"fire", "pit", "wrap", "slice", "counter"},
}
"""What else stands between backticks there, by table: values."""


@pytest.mark.parametrize("file", FILES)
def test_every_setting_has_its_line_and_no_line_is_without_setting(file: str) -> None:
    told = told_of(section(README, f"### {file}.toml"))
    assert {table: words - VALUES.get(table, set()) for table, words in told.items()} == tables_of(FILES[file])


def test_every_topic_of_caution_is_told() -> None:
    text = section(README, "## Cautions").lower()
    assert [topic for topic in TOPICS if f"**{topic}.**" not in text] == []


# The tree


def test_the_top_folder_holds_what_it_should() -> None:
    assert {path.parts[0] for path in tree() if not path.parts[0].startswith(".")} <= TOP


def test_no_file_names_a_folder_of_one_machine() -> None:
    own = re.compile(rb"(?<![\w.])/(?:work|tmp|root|home|Users)/[\w.]")
    named = [str(path) for path in tree() if own.search((ROOT / path).read_bytes())]
    assert named == []
