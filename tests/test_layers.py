"""The shape of the package: imports go one way, everything imported is declared, modules stay small."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
import tomllib
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
MODULES = sorted(path for folder in ("scheduler", "web") for path in (ROOT / folder).rglob("*.py"))

MOST_LINES = 350
OTHER_NAMES = {"argon2_cffi": "argon2"}
"""Packages that are imported by another name than they are asked for."""


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """What import-linter says of the package in a folder."""
    code = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    words = [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(folder)!r}); {code}"]
    return subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False)


def test_imports_go_one_way() -> None:
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("model/plan.py", "import scheduler.books", "Imports go one way"),
        ("books/files.py", "import scheduler.trade.wood", "Imports go one way"),
        ("audit/space.py", "import scheduler.solve.milp", "Imports go one way"),
        ("later/__init__.py", "", "Imports go one way"),
        ("audit/space.py", "import highspy", "The audit shares nothing with the solver"),
        ("report/page.py", "import ortools.sat.python.cp_model", "Only the solver knows"),
        ("bench/table.py", "import ortools.sat.python.cp_model", "Only the solver knows"),
        ("quantities/table.py", "import scheduler.bench.table", "Imports go one way"),
        ("report/page.py", "import scheduler.bench.table", "Imports go one way"),
        ("solve/grid.py", "import pandas", "pandas stays"),
        ("model/site.py", "import numpy", "The model needs pydantic"),
        ("report/page.py", "import fastapi", "Only the web knows"),
        ("cli/show.py", "import web.app", "Nothing imports the web"),
        ("web/store/database.py", "import web.pages.plan", "The web's pages"),
    ],
)
def test_an_import_the_wrong_way_is_seen(module: str, line: str, contract: str, tmp_path: Path) -> None:
    for package in ("scheduler", "web"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    file = tmp_path / (module if module.startswith("web/") else f"scheduler/{module}")
    file.parent.mkdir(exist_ok=True)
    with file.open("a", encoding="utf-8") as out:
        out.write(f"\n{line}\n")
    done = lint(tmp_path)
    assert done.returncode == 1, done.stdout + done.stderr
    broken = [said for said in done.stdout.splitlines() if " BROKEN" in said]
    assert [said for said in broken if said.startswith(contract)], done.stdout


def imported(*folders: str) -> set[str]:
    """Packages that the modules in some folders import, other than Python's own and ours."""
    names: set[str] = set()
    for path in (path for folder in folders for path in (ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names.add(node.module)
    own = {path.stem for path in (ROOT / "tests").iterdir()} | {"scheduler", "web"}
    return {name.split(".")[0] for name in names} - own - sys.stdlib_module_names


def declared(lines: list[str]) -> set[str]:
    """Packages in a list of requirements, as they are imported."""
    names = {re.split(r"[^\w-]", line)[0].replace("-", "_") for line in lines}
    return {OTHER_NAMES.get(name, name) for name in names}


RUNTIME = declared(PROJECT["project"]["dependencies"])
EXTRAS: dict[str, list[str]] = PROJECT["project"]["optional-dependencies"]
TESTS = declared(EXTRAS["test"])
OPTIONAL = declared(EXTRAS["bench"]) | declared(EXTRAS["cluster"])
"""What one command needs and the rest does without: imported inside, told in a sentence where it is not there."""


def test_the_program_declares_what_it_imports_and_no_more() -> None:
    # zoneinfo finds tzdata by itself, and FastAPI python-multipart
    assert imported("scheduler", "web") == RUNTIME - {"tzdata", "python_multipart"} | OPTIONAL


def test_what_is_optional_is_not_imported_with_the_program() -> None:
    modules = [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in MODULES if path.parts[-1][0] != "_"]
    wanted = [name for name in modules if name.startswith(("scheduler.bench", "scheduler.cli", "scheduler.solve"))]
    told = f"print(set({sorted(OPTIONAL)}) & sys.modules.keys())"
    code = "; ".join(["import sys", *(f"import {name}" for name in wanted), told])
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "set()\n"


@pytest.mark.parametrize("module", ["scheduler.books", "scheduler.report.page", "scheduler.rehearse.play"])
def test_only_the_forecast_waits_for_pandas(module: str) -> None:
    """What imports the solver cannot be asked: OR-Tools brings pandas along."""
    code = f"import sys, {module}; print('pandas' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"


def test_tests_declare_what_they_import() -> None:
    assert imported("tests", ".pictures") <= RUNTIME | TESTS


def test_the_model_imports_pydantic_only() -> None:
    assert imported("scheduler/model") == {"pydantic"}


def test_the_console_script_is_the_program() -> None:
    module, name = PROJECT["project"]["scripts"]["pit-scheduler"].split(":")
    assert callable(getattr(import_module(module), name))


@pytest.mark.parametrize("package", ["scheduler", "web"])
def test_the_package_carries_all_its_files(package: str) -> None:
    patterns = PROJECT["tool"]["setuptools"]["package-data"][package]
    carried = {path for pattern in patterns for path in (ROOT / package).glob(pattern)}
    others = {path for path in (ROOT / package).rglob("*.*") if path.suffix not in (".py", ".pyc")}
    assert others == carried
    assert len(others) > 1


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_modules_are_small_and_say_what_they_are_for(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_LINES
    assert not text or ast.get_docstring(ast.parse(text))
