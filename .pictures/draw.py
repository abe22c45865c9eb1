"""Draws the pictures of README.md from a finished plan: `python .pictures/draw.py out/harvest-weekend`.

Needs Chromium at /usr/bin/chromium and the `test` extra.
"""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import FloatRect, Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
HERE = Path(__file__).parent
WIDE_PX = 1280

SHOWN = {"tasks": (".shift .tasks", 2, 450), "smoker": ("#smoker-1 .chart", 1, 1200)}
"""Name of each picture; what it shows, which of those (the first night), and how many px it may be tall."""


def draw(page: Page, file: Path) -> None:
    """One picture of each thing, from the top of it."""
    page.goto(file.resolve().as_uri())
    for name, (place, which, tall_px) in SHOWN.items():
        box = page.locator(place).nth(which).bounding_box()
        if box is None:
            raise SystemExit(f"{file} has too few of {place}")
        clip = FloatRect(x=box["x"], y=box["y"], width=box["width"], height=min(box["height"], tall_px))
        page.screenshot(path=HERE / f"{name}.png", full_page=True, clip=clip)


def main(folder: Path) -> None:
    """Draw the plan in a folder."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        draw(browser.new_page(viewport={"width": WIDE_PX, "height": 900}), folder / "crew-plan.html")
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
