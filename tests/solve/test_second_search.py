"""Two searches that tell each other of their plans."""

from __future__ import annotations

import os
import subprocess
import sys
from multiprocessing import Pipe
from pathlib import Path
from random import Random

from solve.corner import corner

from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.improve import Found, first_plans
from scheduler.solve.lines import Lines
from scheduler.solve.second_search import Exchange, swap

ROOT = Path(__file__).parents[2]
HARVEST = ROOT / "scenarios" / "harvest-weekend"


def two_plans(grid: Grid) -> tuple[Found, Found]:
    """A cheap one and a dear one."""
    plans = sorted(first_plans(grid), key=lambda plan: plan.cents)
    assert plans[0].cents < plans[-1].cents
    return plans[0], plans[-1]


def ends(grid: Grid) -> tuple[Exchange, Exchange]:
    here, there = Pipe()
    return Exchange(grid, here), Exchange(grid, there)


def test_a_plan_arrives_as_it_was_sent() -> None:
    grid = build_grid(corner())
    (plan, _), (here, there) = two_plans(grid), ends(grid)
    here.tell(plan)
    heard = there.heard()
    assert heard is not None
    assert heard.cents == plan.cents
    assert heard.board.placed == plan.board.placed
    assert heard.board.frame.shifts == plan.board.frame.shifts
    assert there.heard() is None, "it is heard once"


def test_only_cheaper_plans_are_told_and_none_comes_back() -> None:
    grid = build_grid(corner())
    (cheap, dear), (here, there) = two_plans(grid), ends(grid)
    here.tell(cheap)
    here.tell(dear)
    heard = there.heard()
    assert heard is not None
    assert heard.cents == cheap.cents
    there.tell(heard)
    there.tell(dear)
    assert here.heard() is None


def test_the_dearer_search_goes_on_from_the_plan_of_the_cheaper_one() -> None:
    grid = build_grid(corner())
    (cheap, dear), (here, there) = two_plans(grid), ends(grid)
    mine, theirs = Lines([dear], Random(0)), Lines([cheap], Random(1))
    swap(theirs, there)
    swap(mine, here)
    assert mine.best.cents == cheap.cents
    swap(theirs, there)
    assert theirs.best.cents == cheap.cents


def test_a_search_that_has_ended_is_no_trouble() -> None:
    grid = build_grid(corner())
    (cheap, dear), (here, there) = two_plans(grid), ends(grid)
    there.tell(dear)
    there.close()
    here.tell(cheap)
    last = here.heard(60.0)
    assert last is not None, "what it told before is still there"
    assert last.cents == dear.cents
    assert here.heard(60.0) is None


def test_a_bound_and_a_second_search_end_with_the_process_that_started_them(tmp_path: Path) -> None:
    script = tmp_path / "started.py"
    script.write_text(
        "import multiprocessing, time\n"
        "from scheduler.books import read_scenario\n"
        "from scheduler.solve.bound import Bound\n"
        "from scheduler.solve.grid import build_grid\n"
        "from scheduler.solve.second_search import SecondSearch\n"
        "from pathlib import Path\n"
        "if __name__ == '__main__':\n"
        f"    grid = build_grid(read_scenario(Path({str(HARVEST)!r})))\n"
        "    bound = Bound(grid)\n"
        "    bound.start()\n"
        "    SecondSearch(grid, 1, 600.0, bound.crews)\n"
        "    print(*(child.pid for child in multiprocessing.active_children()), flush=True)\n"
        "    time.sleep(600)\n"
    )
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    parent = subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True, env=environment)
    assert parent.stdout is not None
    children = [int(pid) for pid in parent.stdout.readline().split()]
    assert len(children) == 2
    parent.kill()
    # They hold the other end of its output: that comes to its end when they are gone.
    assert parent.communicate(timeout=60)[0] == ""
