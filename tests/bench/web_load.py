"""Thirty phones poll and tick while a search runs: how long they wait. Prints figures; nothing is asserted.

python tests/bench/web_load.py [SECONDS]
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import httpx

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT)]
sys.path.append(str(ROOT / "tests"))

from solve.corner import corner  # noqa: E402
from web_server import copied, corner_plan, free_port, settings_of  # noqa: E402

from web.kitchen import Kitchen  # noqa: E402

PHONES = 30
POLL_S, TICK_SHARE = 2.0, 0.3
"""Each phone does something every 2 s, ten times as often as the page does; so much of it is a reading written down."""


def phone(number: int, url: str, until: float, waits: list[float], wrong: list[str], sent: list[str]) -> None:
    """One phone."""
    rng = Random(number)
    with httpx.Client(base_url=url, headers={"origin": url}, timeout=30) as client:
        count = 0
        while time.monotonic() < until:
            time.sleep(rng.uniform(0, 2 * POLL_S))
            begun = time.monotonic()
            try:
                if rng.random() < TICK_SHARE:
                    key = f"phone-{number:03d}-{count:05d}"
                    count += 1
                    event = {"kind": "probe", "load": "BR01", "temp_f": 150 + count % 50}
                    entry = {"key": key, "what": "note", "event": event, "age_s": 0}
                    answer = client.post("/entries", json={"entries": [entry]})
                    sent.append(key)
                else:
                    answer = client.get("/now/board" if rng.random() < 0.7 else "/service/board")
                waits.append(time.monotonic() - begun)
                if answer.status_code != 200:
                    wrong.append(f"{answer.status_code}")
            except httpx.HTTPError as error:
                wrong.append(repr(error))


def main() -> None:
    """Serve in a process of its own, as for a user, and let the phones loose."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    with TemporaryDirectory() as name:
        folder = copied(Path(name))
        kitchen = Kitchen(settings_of(folder))
        kitchen.keep(corner_plan(), corner(), kind="searched", by="")
        kitchen.database.close()
        port = free_port()
        words = [sys.executable, "-m", "scheduler", "serve", str(folder), "--port", str(port), "--practice", "sat 5:00"]
        child = subprocess.Popen(
            words, cwd=ROOT, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)}
        )
        url = f"http://127.0.0.1:{port}"
        try:
            assert child.stdout is not None
            child.stdout.readline()
            _wait_for(url)
            with httpx.Client(base_url=url, headers={"origin": url}, timeout=30) as client:
                from web_server import values_in

                values = values_in(client.get("/weekend").text) | {"press": "plan", "seconds": "180"}
                search = client.post("/weekend", data=values).headers["location"]
            waits: list[float] = []
            wrong: list[str] = []
            sent: list[str] = []
            until = time.monotonic() + seconds
            threads = [threading.Thread(target=phone, args=(i, url, until, waits, wrong, sent)) for i in range(PHONES)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
            state = httpx.get(url + search).text.count("Searching")
        finally:
            child.terminate()
            child.wait(timeout=20)
        kitchen = Kitchen(settings_of(folder))
        from web.store.entries import all_entries

        kept = {entry.key for entry in all_entries(kitchen.database)}
        kitchen.database.close()
    waits.sort()
    at = {share: waits[min(len(waits) - 1, int(share * len(waits)))] * 1000 for share in (0.5, 0.95, 0.99)}
    print(
        f"{PHONES} phones, {seconds:.0f} s, a search running beside them {'all along' if state else 'part of the time'}"
    )
    print(f"{len(waits)} requests, {len(wrong)} errors, {len(set(sent) - kept)} acknowledged entries lost")
    print(f"waits: half under {at[0.5]:.0f} ms, 95 in 100 under {at[0.95]:.0f} ms, 99 in 100 under {at[0.99]:.0f} ms")


def _wait_for(url: str) -> None:
    while True:
        try:
            if httpx.get(f"{url}/static/pit.css").status_code == 200:
                return
        except httpx.TransportError:
            time.sleep(0.1)


if __name__ == "__main__":
    main()
