"""One browser for the tests of a file. Without Chromium at /usr/bin/chromium they are skipped, except on CI, where they
fail.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

CHROMIUM = Path("/usr/bin/chromium")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE_MS = 20_000
"""How long what is expected may take: other tests may run beside these."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        if os.environ.get("CI"):
            pytest.fail(f"{CHROMIUM} is missing")
        pytest.skip(f"{CHROMIUM} is missing")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=str(CHROMIUM), args=QUIET)
        expect.set_options(timeout=PATIENCE_MS)
        yield started
        started.close()
