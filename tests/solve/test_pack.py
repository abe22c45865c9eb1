"""Packing: as much worth as fits, exactly, and no more splits than needed; against trying everything."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.solve.frame import Ints
from scheduler.solve.pack import Bin, Item, Option, Packed, Use, pack

A: Bin = ("spot", 0)
B: Bin = ("spot", 1)


def room(**sizes: int) -> dict[Bin, Ints]:
    """Racks A and B of some sizes for a dozen steps."""
    return {{"A": A, "B": B}[name]: np.full(12, size, dtype=np.int64) for name, size in sizes.items()}


def on(*uses: tuple[Bin, int, int, int], awkward: int = 0) -> Option:
    return Option(tuple(Use(*use) for use in uses), awkward)


def fits(items: list[Item], packed: Packed, sizes: dict[Bin, int]) -> bool:
    """Written plainly: at every step and bin the sum of what is on is at most the size."""
    return all(
        sum(
            pieces * use.size
            for item, counts in zip(items, packed, strict=True)
            for option, pieces in zip(item.options, counts, strict=True)
            for use in option.uses
            if use.bin == name and use.start <= step < use.end
        )
        <= size
        for name, size in sizes.items()
        for step in range(12)
    )


def worth(items: list[Item], packed: Packed) -> int:
    return sum(item.worth * sum(counts) for item, counts in zip(items, packed, strict=True))


def test_nothing_to_pack() -> None:
    assert pack([], {}) == ()


def test_one_item_in_one_piece_where_it_fits() -> None:
    item = Item(3, 5, (on((A, 0, 4, 100)), on((B, 0, 4, 100))))
    assert pack([item], room(A=300, B=299)) == ((3, 0),)
    assert pack([item], room(A=299, B=300)) == ((0, 3),)


def test_it_is_split_only_where_it_must_be() -> None:
    item = Item(4, 5, (on((A, 0, 4, 100)), on((B, 0, 4, 100))))
    (counts,) = pack([item], room(A=300, B=200))
    assert sum(counts) == 4
    assert fits([item], (counts,), {A: 300, B: 200})


def test_what_does_not_fit_is_left_out() -> None:
    item = Item(4, 5, (on((A, 0, 4, 100)),))
    assert pack([item], room(A=250)) == ((2,),)
    assert pack([Item(4, 5, ())], room(A=250)) == ((),)


def test_the_dearer_item_goes_first() -> None:
    cheap, dear = (Item(2, worth, (on((A, 0, 4, 100)),)) for worth in (5, 7))
    assert pack([cheap, dear], room(A=300)) == ((1,), (2,))


def test_what_leaves_makes_room_at_the_same_step() -> None:
    items = [Item(2, 5, (on((A, 0, 4, 100)),)), Item(2, 5, (on((A, 4, 8, 100)),))]
    assert pack(items, room(A=200)) == ((2,), (2,))
    items[1] = Item(2, 5, (on((A, 3, 8, 100)),))
    assert sum(map(sum, pack(items, room(A=200)))) == 2


def test_the_less_awkward_way_is_taken() -> None:
    item = Item(2, 5, (on((A, 0, 4, 100), awkward=1), on((B, 0, 4, 100))))
    assert pack([item], room(A=200, B=200)) == ((0, 2),)


def test_one_piece_outweighs_any_awkwardness() -> None:
    item = Item(3, 1, (on((A, 0, 4, 100), awkward=50), on((B, 0, 4, 100))))
    assert pack([item], room(A=100, B=200)) == ((1, 2),)


@st.composite
def problems(draw: st.DrawFn) -> tuple[list[Item], dict[Bin, int]]:
    items = []
    for _ in range(draw(st.integers(1, 3))):
        options = []
        for _ in range(draw(st.integers(1, 2))):
            uses = []
            for _ in range(draw(st.integers(1, 2))):
                start = draw(st.integers(0, 8))
                size = draw(st.sampled_from((25, 50, 100)))
                uses.append((draw(st.sampled_from((A, B))), start, start + draw(st.integers(1, 4)), size))
            options.append(on(*uses, awkward=draw(st.integers(0, 2))))
        items.append(Item(draw(st.integers(1, 3)), draw(st.integers(1, 9)), tuple(options)))
    return items, {A: draw(st.integers(0, 300)), B: draw(st.integers(0, 300))}


@given(problems())
@settings(max_examples=60)
def test_no_packing_is_worth_more(problem: tuple[list[Item], dict[Bin, int]]) -> None:
    items, sizes = problem
    packed = pack(items, {name: np.full(12, size, dtype=np.int64) for name, size in sizes.items()})
    assert fits(items, packed, sizes)
    each = [
        [c for c in product(range(item.pieces + 1), repeat=len(item.options)) if sum(c) <= item.pieces]
        for item in items
    ]
    best = max(worth(items, every) for every in product(*each) if fits(items, every, sizes))
    assert worth(items, packed) == best


def test_out_of_work_it_gives_what_it_has() -> None:
    item = Item(3, 5, (on((A, 0, 4, 100)),))
    assert pack([item], room(A=300), work=0.0) in (((0,),), ((3,),))


@pytest.mark.parametrize("pieces", [1, 2])
def test_a_use_needs_its_bin(pieces: int) -> None:
    with pytest.raises(KeyError):
        pack([Item(pieces, 5, (on((A, 0, 4, 100)),))], room(B=300))


def test_room_that_comes_and_goes_is_heeded() -> None:
    item = Item(3, 5, (on((A, 2, 8, 100)),))
    less = np.array([300, 300, 300, 300, 300, 200, 300, 300, 0, 0, 0, 0])
    assert pack([item], {A: less}) == ((2,),), "somebody else's comes at step 5 and leaves at step 6"
    assert pack([Item(3, 5, (on((A, 6, 8, 100)),))], {A: less}) == ((3,),)
