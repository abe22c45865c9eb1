"""Draws the pictures of the pages for README.md: `python .pictures/web.py http://127.0.0.1:8765`.

Wants a server of a scenario with a plan in force and its practice clock in the night. Needs Chromium at
/usr/bin/chromium and the `test` extra.
"""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import FloatRect, sync_playwright

CHROMIUM = "/usr/bin/chromium"
HERE = Path(__file__).parent
SHOWN = {"now": ("/now", 390, 844, False), "plan": ("/plans/1", 1280, 1000, False)}
"""Name of each picture: page, width, height, dark."""


def main(url: str) -> None:
    """Draw them."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        for name, (path, width, height, dark) in SHOWN.items():
            scheme = "dark" if dark else "light"
            page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=scheme)
            page.goto(url + path)
            clip = FloatRect(x=0, y=0, width=width, height=height)
            page.screenshot(path=HERE / f"{name}.png", clip=clip)
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1])
