"""What a taster wrote on a form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

SCALES: Final = ("tenderness", "bark", "moisture", "flavor")
"""What is scored from 1 to 9."""


@dataclass(frozen=True, slots=True)
class Scores:
    """One form; None where nothing was written."""

    form: int
    prefers: str | None
    """Code of the sample."""
    odd: str | None
    first: tuple[int | None, ...]
    """Of the sample served first, one for each of `SCALES`."""
    second: tuple[int | None, ...]
