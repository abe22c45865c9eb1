"""Options and arguments that several commands have."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated, Any

import typer

DAY_S = 86_400

PlanPath = Annotated[
    Path, typer.Argument(metavar="PLAN", help="plan.json, or the folder that holds it.", show_default=False)
]


def seconds_option(least: float, most: float, help_text: str, *, show_default: bool | str = True) -> Any:
    """The option --seconds of a command, a number from `least` to `most`."""
    return typer.Option(min=least, max=most, callback=finite, help=help_text, show_default=show_default)


def finite(value: float | None) -> float | None:
    """The value of an option, if it is a number: "nan" lies within all limits, as it is neither below nor above one."""
    if value is not None and not math.isfinite(value):
        raise typer.BadParameter(f"{value:g} is not a number")
    return value
