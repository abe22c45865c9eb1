"""A temperature record, what it is of, and what can be found in it: the parts that all log checks share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.trade import food_safety as fs
from scheduler.trade.lethality import Floats, Species

Ints = NDArray[np.int64]
Severity = Literal["breach", "note"]

MOST_PER_RULE = 50
"""More findings of one rule than this are counted, not listed."""

COLD, BETWEEN, HOT, NOTHING = 0, 1, 2, -1


@dataclass(frozen=True, slots=True)
class LogSettings:
    """What the record is of.

    `kind` None means what the species says: poultry must reach 165 F by the Food Code, meat 145 F. Time control
    starts at `time_control_from_min` if that is set. `midnight_min` is the minute of any midnight in the record;
    without it the days of date marking are counted on the safe side.
    """

    species: Species | Literal["tallow"] = "meat"
    kind: fs.CookKind | None = None
    fat_pct: float | None = None
    target_log: float | None = None
    qualifying_roast: bool = False
    cooked_at_start: bool = False
    time_control_from_min: float | None = None
    midnight_min: float | None = None

    @property
    def hold_min_f(self) -> float:
        """Least temperature of hot holding, F."""
        return fs.ROAST_HOT_HOLD_MIN_F if self.qualifying_roast else fs.HOT_HOLD_MIN_F


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing the record breaks or leaves open, from one minute to another."""

    code: str
    severity: Severity
    from_min: float
    to_min: float
    sentence: str

    def line(self) -> str:
        """For a page or a terminal: minute, rule, sentence."""
        return f"{minute(self.from_min)}: {self.code}: {self.sentence}"


@dataclass(frozen=True, slots=True)
class Record:
    """Readings in order of time, and what they are of."""

    at: Floats
    temp: Floats
    settings: LogSettings

    def part(self, low: int, high: int) -> Record:
        """Readings low..high-1."""
        return Record(self.at[low:high], self.temp[low:high], self.settings)

    @property
    def start(self) -> float:
        """Minute of the first reading."""
        return float(self.at[0])

    @property
    def end(self) -> float:
        """Minute of the last reading."""
        return float(self.at[-1])


def minute(value: float) -> str:
    """A minute of the record in words."""
    return f"minute {value:g}"


def steady_min(record: Record, least_f: float) -> Floats:
    """Minutes since when the temperature has stayed at or above `least_f`, at each reading."""
    below = record.temp < least_f
    index = np.arange(len(below))
    last_below = np.maximum.accumulate(np.where(below, index, -1))
    since = record.at[np.minimum(last_below + 1, index)]
    return np.where(below, 0.0, record.at - since)


def band_min(record: Record, low_f: float, high_f: float) -> Floats:
    """Minutes spent between two temperatures up to each reading, the temperature running straight in between."""
    a, b = record.temp[:-1], record.temp[1:]
    low, high = np.minimum(a, b), np.maximum(a, b)
    inside = np.clip(np.minimum(high, high_f) - np.maximum(low, low_f), 0.0, None)
    flat = high - low < 1e-9
    still = ((low >= low_f) & (high <= high_f)).astype(np.float64)
    share = np.where(flat, still, inside / np.where(flat, 1.0, high - low))
    return np.concatenate(([0.0], np.cumsum(share * np.diff(record.at))))


def runs(values: Ints) -> tuple[Ints, Ints, Ints]:
    """Value, first index and end (exclusive) of each run of equal values."""
    edges = np.flatnonzero(np.diff(values)) + 1
    starts = np.concatenate(([0], edges)).astype(np.int64)
    ends = np.concatenate((edges, [len(values)])).astype(np.int64)
    return values[starts], starts, ends


def spells(record: Record) -> tuple[Ints, Ints, Ints]:
    """Kind (COLD, BETWEEN, HOT), first reading and end (exclusive) of each spell."""
    cold = record.temp <= fs.COLD_HOLD_MAX_F
    hot = record.temp >= record.settings.hold_min_f
    return runs(np.where(cold, COLD, np.where(hot, HOT, BETWEEN)).astype(np.int64))


def between(kinds: Ints, middle: int, before: int, after: int) -> Ints:
    """Places of the spells of kind `middle` that lie between spells of these kinds."""
    padded = np.concatenate(([NOTHING], kinds, [NOTHING]))
    return np.flatnonzero((kinds == middle) & (padded[:-2] == before) & (padded[2:] == after))
