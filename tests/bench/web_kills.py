"""A writer is killed without warning again and again: is every entry that it said was kept still there?

python tests/bench/web_kills.py [TIMES]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT)]

from web.store.database import Database  # noqa: E402
from web.store.entries import all_entries  # noqa: E402


def writer_killed() -> Callable[[str, int, int, float], int]:
    """The helper of the store's tests, loaded by its path: tests/web and web share a name."""
    spec = spec_from_file_location("test_store", ROOT / "tests" / "web" / "test_store.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.path.append(str(ROOT / "tests"))
    spec.loader.exec_module(module)
    found: Callable[[str, int, int, float], int] = module.killed_while_writing
    return found


def main() -> None:
    """Kill so many times, at random moments, and count."""
    times, rng, first, lost = int(sys.argv[1]) if len(sys.argv) > 1 else 200, Random(1), 0, 0
    kill = writer_killed()
    with TemporaryDirectory() as name:
        address = f"sqlite:///{Path(name) / 'kitchen.sqlite3'}"
        for _ in range(times):
            last = kill(address, first, rng.randint(0, 30), rng.uniform(0, 0.01))
            database = Database(address)
            kept = {entry.key for entry in all_entries(database)}
            database.close()
            lost += len({f"key-{i:08d}" for i in range(last + 1)} - kept)
            first = len(kept)
    print(f"{times} kills, {first} entries kept, {lost} acknowledged entries lost")


if __name__ == "__main__":
    main()
