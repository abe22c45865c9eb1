"""What is left to the lot in a trial: sides of the rack, blind codes, and who tastes what in which order.

All of it follows from the trial's seed alone, so that the sheets can be printed again and the scores be read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.model.trial import Trial

LOWEST_CODE, HIGHEST_CODE = 101, 999
"""Codes of three figures, as tasting practice has them: nobody takes one for a rank (common practice, no source)."""
TRIANGLES = ("ABB", "BAA", "AAB", "BBA", "ABA", "BAB")
"""The six orders of a triangle; each comes up equally often."""

Side = int
"""0 for the trial's first method, 1 for its second."""


@dataclass(frozen=True, slots=True)
class Blind:
    """A code that stands for a method."""

    code: str
    side: Side


@dataclass(frozen=True, slots=True)
class PairLot:
    """One pair as it lies on the rack, seen from the front."""

    number: int
    left: Blind
    right: Blind

    @property
    def codes(self) -> tuple[str, str]:
        """Left and right."""
        return self.left.code, self.right.code

    def code_of(self, side: Side) -> str:
        """The code of one method's piece."""
        return self.left.code if self.left.side == side else self.right.code


@dataclass(frozen=True, slots=True)
class Form:
    """What one taster is served: two samples to compare, then three of which one is odd."""

    number: int
    pair: int
    samples: tuple[Blind, Blind]
    triangle: tuple[Blind, Blind, Blind]

    @property
    def odd(self) -> Blind:
        """The sample of the triangle that is not like the other two."""
        sides = [blind.side for blind in self.triangle]
        return next(blind for blind in self.triangle if sides.count(blind.side) == 1)


def _random(trial: Trial, what: object) -> Random:
    return Random(f"{trial.seed}:{trial.name}:{what}")


def pair_lots(trial: Trial) -> tuple[PairLot, ...]:
    """Sides and codes of all pairs. Each method is on the left as often as on the right, but for one if odd."""
    random = _random(trial, "pairs")
    codes = [str(code) for code in random.sample(range(LOWEST_CODE, HIGHEST_CODE + 1), 2 * trial.pairs)]
    first = random.randrange(2)
    lefts = [(first + i) % 2 for i in range(trial.pairs)]
    random.shuffle(lefts)
    return tuple(
        PairLot(i + 1, Blind(codes[2 * i], left), Blind(codes[2 * i + 1], 1 - left)) for i, left in enumerate(lefts)
    )


def lots_by_load(plan: Plan, scenario: Scenario) -> dict[str, tuple[PairLot, ...]]:
    """Pairs of each load that holds some, in order of loading; loads of trials that are not laid out are not there."""
    found: dict[str, tuple[PairLot, ...]] = {}
    for trial in scenario.weekend.trials:
        lots = pair_lots(trial)
        loads = [load for load in plan.loads if load.cut == trial.pair_name]
        begin = 0
        for load in sorted(loads, key=lambda one: (one.load_at.timestamp(), one.code)):
            found[load.code] = lots[begin : begin + load.pieces]
            begin += load.pieces
    return found


def trial_of(scenario: Scenario, cut: str) -> Trial | None:
    """The trial whose pairs a cut is, or None."""
    return next((trial for trial in scenario.weekend.trials if trial.pair_name == cut), None)


def tasting_forms(trial: Trial, tasters: int) -> tuple[Form, ...]:
    """Forms for so many tasters; a form does not depend on how many there are.

    Every two forms serve the methods once in each order, every six all orders of the triangle; pairs take turns.
    """
    return tuple(_form(trial, number) for number in range(1, tasters + 1))


def _form(trial: Trial, number: int) -> Form:
    orders = _block(trial, "order", (number - 1) // 2, (0, 1))
    triangles = _block(trial, "triangle", (number - 1) // 6, range(6))
    first = orders[(number - 1) % 2]
    letters = TRIANGLES[triangles[(number - 1) % 6]]
    codes = [str(c) for c in _random(trial, f"form {number}").sample(range(LOWEST_CODE, HIGHEST_CODE + 1), 5)]
    samples = Blind(codes[0], first), Blind(codes[1], 1 - first)
    one, two, three = (Blind(code, "AB".index(letter)) for code, letter in zip(codes[2:], letters, strict=True))
    return Form(number, (number - 1) % trial.pairs + 1, samples, (one, two, three))


def _block(trial: Trial, what: str, number: int, values: Sequence[int]) -> list[int]:
    found = list(values)
    _random(trial, f"{what} {number}").shuffle(found)
    return found


def sides_by_piece(trial: Trial) -> dict[str, tuple[int, Side]]:
    """Pair and method of each blind code on the rack."""
    found: dict[str, tuple[int, Side]] = {}
    for lot in pair_lots(trial):
        for blind in (lot.left, lot.right):
            found[blind.code] = lot.number, blind.side
    return found
