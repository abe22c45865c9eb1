"""Draws the pictures of the pages for README.md: `python .pictures/web.py http://127.0.0.1:8765`.

Wants a server of a scenario with a plan in force and its practice clock in the night. Needs Chromium at
/usr/bin/chromium and the `test` extra.
"""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

CHROMIUM = "/usr/bin/chromium"
HERE = Path(__file__).parent
SHOWN = {"now": ("/now", 390, 844, "body"), "plan": ("/plans/1", 1280, 1000, "#move")}
"""Name of each picture: page, width, height, and what stands at its top."""


def main(url: str) -> None:
    """Draw them."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        for name, (path, width, height, top) in SHOWN.items():
            page = browser.new_page(viewport={"width": width, "height": height})
            page.goto(url + path)
            for bar in page.locator(".pick").all()[:1]:
                bar.press(" ")
            page.evaluate("top => scrollTo(0, document.querySelector(top).offsetTop - 64)", top)
            page.screenshot(path=HERE / f"{name}.png")
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1])
