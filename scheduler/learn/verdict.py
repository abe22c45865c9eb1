"""What the scores of a trial may and may not be taken to say: exact odds, paired differences, how many more would do.

Unit of proof. Tasters of one pair judge those two pieces, not the methods: another two pieces by the same methods
would differ too. So differences are told twice: of these pieces (over the forms), and of the methods (over the pairs).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import ceil, sqrt

from scheduler.learn.tails import at_least, beta_share, critical_count, student_quantile, student_two_sided

RISK = 0.05
POWER = 0.8
Z_RISK, Z_POWER = 1.959963984540054, 0.8416212335729143
Z_ONE_SIDED = 1.6448536269514722
MOST_FLIPS = 14
"""Up to so many differences every flip of signs is tried."""
MOST_MORE = 2000
GUESS = 1 / 3


@dataclass(frozen=True, slots=True)
class Counted:
    """Answers that are right or wrong, or for one or the other."""

    hits: int
    of: int
    odds: float
    """Odds of a hit by chance alone."""
    chance: float
    """Odds that chance alone gives so clear a result."""
    needed: int | None
    """Least hits that would be clear; None where even all would not."""
    low: float
    high: float
    """Interval of the true share of hits (Clopper and Pearson 1934), 95 %."""
    more: int | None
    """Further answers that would show a share like this one with odds of 4 in 5; 0 if it is shown, None if hopeless."""

    @property
    def clear(self) -> bool:
        """True if chance alone is no good answer any more."""
        return self.of > 0 and self.chance <= RISK


def triangle(hits: int, of: int) -> Counted:
    """Tasters who picked the odd sample, against one in three by guessing; one-sided, exact binomial (ISO 4120)."""
    chance = at_least(hits, of, GUESS) if of else 1.0
    low, high = share_interval(hits, of)
    more = _more_hits(hits, of, GUESS, RISK, chance)
    return Counted(hits, of, GUESS, chance, critical_count(of, GUESS, RISK), low, high, more)


def preference(hits: int, of: int) -> Counted:
    """Tasters who preferred one of the two, against one in two; two-sided, exact binomial (ISO 5495)."""
    most = max(hits, of - hits)
    chance = min(1.0, 2 * at_least(most, of, 0.5)) if of else 1.0
    low, high = share_interval(hits, of)
    more = _more_hits(most, of, 0.5, RISK / 2, chance / 2 if chance < 1 else 1.0)
    return Counted(hits, of, 0.5, chance, critical_count(of, 0.5, RISK / 2), low, high, more)


def share_interval(hits: int, of: int) -> tuple[float, float]:
    """Clopper and Pearson's 95 % interval of a share."""
    if not of:
        return 0.0, 1.0
    low = 0.0 if hits == 0 else _beta_quantile(RISK / 2, hits, of - hits + 1)
    high = 1.0 if hits == of else _beta_quantile(1 - RISK / 2, hits + 1, of - hits)
    return low, high


def _beta_quantile(share: float, a: float, b: float) -> float:
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if beta_share(a, b, middle) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _more_hits(hits: int, of: int, odds: float, risk: float, chance: float) -> int | None:
    if chance <= risk:
        return 0
    if not of or hits / of <= odds:
        return None
    share = min(hits / of, 0.99)
    z = Z_ONE_SIDED if odds < 0.5 else Z_RISK
    about = ((z * sqrt(odds * (1 - odds)) + Z_POWER * sqrt(share * (1 - share))) / (share - odds)) ** 2
    if about > MOST_MORE:
        return None
    for count in range(max(of + 1, int(0.7 * about)), 2 * MOST_MORE):
        least = critical_count(count, odds, risk)
        if least is not None and at_least(least, count, share) >= POWER:
            return count - of
    return None


@dataclass(frozen=True, slots=True)
class Paired:
    """Differences, second method less first."""

    count: int
    mean: float
    low: float
    high: float
    """95 % interval of the mean (Student's t)."""
    chance: float
    """Odds that chance alone gives a mean as far from 0 (Student 1908, two-sided)."""
    flipped: float | None
    """The same by trying every flip of signs (Fisher 1935); None where there are too many to try."""
    more: int | None
    """Further pairs that would show a difference like this with odds of 4 in 5; 0 if shown, None if hopeless."""

    @property
    def clear(self) -> bool:
        """True if chance alone is no good answer any more."""
        return self.chance <= RISK


def paired(differences: Sequence[float]) -> Paired | None:
    """A paired test; None below two differences."""
    count = len(differences)
    if count < 2:
        return None
    mean = sum(differences) / count
    sd = sqrt(sum((d - mean) ** 2 for d in differences) / (count - 1))
    error = sd / sqrt(count)
    half = student_quantile(1 - RISK / 2, count - 1) * error
    chance = student_two_sided(mean / error, count - 1) if error > 0 else (1.0 if mean == 0 else 0.0)
    flipped = flip_odds(differences) if count <= MOST_FLIPS + 1 else None
    return Paired(count, mean, mean - half, mean + half, chance, flipped, _more_pairs(mean, sd, count, chance))


def flip_odds(differences: Sequence[float]) -> float:
    """Share of all flips of signs whose sum is at least as far from 0 (Fisher 1935, The Design of Experiments)."""
    seen = abs(sum(differences)) - 1e-9
    sums = [0.0]
    for d in differences:
        sums = [total + sign * d for total, sign in product(sums, (1, -1))]
    return sum(abs(total) >= seen for total in sums) / len(sums)


def _more_pairs(mean: float, sd: float, count: int, chance: float) -> int | None:
    if chance <= RISK:
        return 0
    if mean == 0:
        return None
    asked = ceil(((Z_RISK + Z_POWER) * sd / abs(mean)) ** 2 + Z_RISK**2 / 2)
    return None if asked - count > MOST_MORE else max(1, asked - count)


def holm(chances: Sequence[float]) -> tuple[float, ...]:
    """Odds put right for asking several questions at once (Holm 1979), in the order given."""
    order = sorted(range(len(chances)), key=lambda i: chances[i])
    found, highest = [1.0] * len(chances), 0.0
    for rank, i in enumerate(order):
        highest = max(highest, min(1.0, (len(chances) - rank) * chances[i]))
        found[i] = highest
    return tuple(found)
