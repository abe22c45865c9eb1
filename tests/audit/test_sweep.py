"""Sweep lines against counting minute by minute."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from scheduler.audit.sweep import Peak, Use, first_gap, merged, peaks

uses = st.lists(
    st.builds(Use, st.integers(-5, 30), st.integers(-5, 30), st.integers(-2, 4), st.sampled_from("abc")), max_size=8
)


def test_peaks_of_nothing() -> None:
    assert list(peaks([], 0)) == []
    assert list(peaks([Use(5, 5, 9, "a"), Use(7, 3, 9, "b")], 0)) == []


def test_peaks_at_the_edge() -> None:
    # One ends as the other starts: never both.
    assert list(peaks([Use(0, 5, 1, "a"), Use(5, 9, 1, "b")], 1)) == []
    assert list(peaks([Use(0, 6, 1, "a"), Use(5, 9, 1, "b")], 1)) == [Peak(5, 6, 2, ("a", "b"))]
    # Who has just left, takes nothing or gives is not named.
    assert list(peaks([Use(0, 5, 1, "a"), Use(5, 9, 2, "b"), Use(0, 9, 0, "c"), Use(0, 9, -1, "d")], 0)) == [
        Peak(5, 9, 1, ("b",))
    ]
    # Still too full when one takes the other's place.
    assert list(peaks([Use(0, 5, 2, "a"), Use(5, 9, 2, "b")], 1)) == [Peak(0, 9, 2, ("a",))]


@given(uses, st.integers(-2, 6))
def test_peaks_are_the_minutes_above_capacity(taken: list[Use], capacity: int) -> None:
    level = {m: sum(u.size for u in taken if u.start <= m < u.end) for m in range(-6, 31)}
    busy = {m for m in level if any(u.start <= m < u.end for u in taken)}
    found = list(peaks(taken, capacity))
    if capacity >= 0:
        assert {m for peak in found for m in range(peak.start, peak.end)} == {m for m in busy if level[m] > capacity}
    for peak in found:
        assert peak.most == max(level[m] for m in range(peak.start, peak.end))


@given(st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), max_size=6))
def test_merged_spans_cover_the_same_minutes(spans: list[tuple[int, int]]) -> None:
    found = merged(spans)
    assert {m for a, b in found for m in range(a, b)} == {m for a, b in spans for m in range(a, b)}
    assert all(first[1] < second[0] for first, second in pairwise(found))


def test_first_gap() -> None:
    assert first_gap(3, 8, [(0, 10)]) is None
    assert first_gap(3, 3, [(0, 3)]) is None
    assert first_gap(3, 8, []) == 3
    assert first_gap(3, 8, [(0, 5), (6, 10)]) == 5
    assert first_gap(3, 8, [(4, 10)]) == 3
    assert first_gap(3, 8, [(3, 8)]) is None
