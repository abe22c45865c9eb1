"""Sweep lines over half-open intervals of minutes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Use:
    """Something that takes `size` during [start, end); a negative size gives."""

    start: int
    end: int
    size: int
    code: str = ""


@dataclass(frozen=True, slots=True)
class Peak:
    """A time in which more is taken than there is."""

    start: int
    end: int
    most: int
    codes: tuple[str, ...]
    """Who takes it at the moment of the most."""


def peaks(uses: Sequence[Use], capacity: int) -> Iterator[Peak]:
    """Each longest period in which the sizes together are above the capacity."""
    events = sorted(
        event for use in uses if use.start < use.end for event in ((use.start, use.size), (use.end, -use.size))
    )
    level, since, most, most_at = 0, 0, 0, 0
    over = False
    for moment, group in groupby(events, key=itemgetter(0)):
        level += sum(delta for _, delta in group)
        if level > capacity:
            if not over:
                over, since, most, most_at = True, moment, level, moment
            elif level > most:
                most, most_at = level, moment
        elif over:
            over = False
            yield Peak(since, moment, most, _takers(uses, most_at))


def _takers(uses: Iterable[Use], moment: int) -> tuple[str, ...]:
    codes = [use.code for use in uses if use.code and use.size > 0 and use.start <= moment < use.end]
    return tuple(dict.fromkeys(codes))


def merged(spans: Iterable[Span]) -> list[Span]:
    """Spans in order, those that touch or overlap made one; empty and reversed ones dropped."""
    found: list[Span] = []
    for start, end in sorted(span for span in spans if span[0] < span[1]):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return found


def first_gap(start: int, end: int, cover: Iterable[Span]) -> int | None:
    """First moment of the closed span [start, end] that no merged, closed span of `cover` holds; None if all are."""
    for first, last in cover:
        if first <= start <= last:
            return None if end <= last else last
    return start
