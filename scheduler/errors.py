"""All errors that this package raises on purpose.

SchedulerError
├── InputError        something the user gave us cannot be used; carries one `Problem` per mistake
└── OutputError       a file could not be written

An infeasible or unfinished search is an answer, not an error: the solver returns a plan with shorts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class SchedulerError(Exception):
    """Root of the tree."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One mistake in the user's input, with the mend."""

    file: str
    item: str
    field: str
    what: str
    mend: str

    def sentence(self) -> str:
        """One clear sentence: file, item, field, what is wrong, how to mend it."""
        where = ", ".join(part for part in (self.item, self.field) if part)
        head = f"{self.file}: {where}: " if where else f"{self.file}: "
        return f"{head}{self.what}; {self.mend}."


class InputError(SchedulerError):
    """The user's input cannot be used; nothing was written."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(problem.sentence() for problem in self.problems))


class OutputError(SchedulerError):
    """A file could not be written; what stood there before still stands."""
