"""Learned ranges into menu.toml: the rest of the file stays as it is, comments and order included."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AbstractTable

from scheduler.books.files import read_text, refuse, write_text
from scheduler.model.base import Range

MENU = "menu.toml"


def write_ranges(folder: Path, found: Mapping[tuple[str, str], tuple[Range, Range, int]], on: date) -> None:
    """Put ranges into menu.toml: by cut and recipe the new range, the one before anything was learned, and the count.

    The file is written whole or not at all. InputError if it cannot be read.
    """
    text = read_text(folder / MENU)
    try:
        menu = tomlkit.parse(text)
    except TOMLKitError as error:
        raise refuse(MENU, f"is not valid TOML: {error}", "correct it") from None
    for cut in menu["cut"]:
        for recipe in cut["recipe"]:
            key = str(cut["name"]).strip(), str(recipe["name"]).strip()
            if key in found:
                _put(recipe, *found[key], on)
    write_text(folder / MENU, tomlkit.dumps(menu))


def _put(recipe: AbstractTable, now: Range, before: Range, cooks: int, on: date) -> None:
    finish = recipe["finish"]
    for name, value in now:
        finish[name] = value
    old = f"{{ early_min = {before.early_min}, likely_min = {before.likely_min}, late_min = {before.late_min} }}"
    recipe["learned"] = tomlkit.value(f"{{ on = {on.isoformat()}, cooks = {cooks}, before = {old} }}")
