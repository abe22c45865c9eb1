"""From loads on a board to a whole plan on the grid: fires trimmed to use, the cheapest shifts, and its cost."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from scheduler.model.site import Firebox
from scheduler.solve.board import Board, Placed
from scheduler.solve.fire_rounds import rounds_every
from scheduler.solve.frame import Burn, Floats, Frame, Ints, burns_of
from scheduler.solve.grid import Grid
from scheduler.solve.hands import clean_min_per_step, crew_hands, fire_minutes, people_with
from scheduler.solve.insert import Taste, fill
from scheduler.solve.roster import SHORTFALL_CENTS, roster


def cost_cents(board: Board) -> float:
    """Cost of what is on a board under its frame, in cents: the same parts as in `scheduler.audit`."""
    grid = board.grid
    wages = sum(option.wage_cent_min for option in board.frame.shifts) / 60
    wood = 0.0
    for burn in board.frame.burns(grid):
        box = grid.fireboxes[burn.firebox]
        hours = (burn.out - burn.lit) * grid.step_min / 60
        wood += box.wood_lb_per_h * grid.scenario.site.wood_cents_per_lb * hours
    begun = sum(way.cents for way in grid.pinned.ways) if grid.pinned is not None else 0.0
    return wages + wood + shorts_cents(board) + begun + sum(load_cents(board, load) for load in board.placed)


def least_cents(board: Board, *, crew_stays: bool) -> float:
    """What the loads on a board cost at the least once fires are trimmed: wood only while something cooks."""
    grid = board.grid
    wages = sum(option.wage_cent_min for option in board.frame.shifts) / 60 if crew_stays else 0.0
    wood = 0.0
    for box, hot in zip(grid.fireboxes, board.hot, strict=True):
        wood += box.wood_lb_per_h * grid.scenario.site.wood_cents_per_lb * grid.step_min / 60 * int((hot > 0).sum())
    return wages + wood + shorts_cents(board) + sum(load_cents(board, load) for load in board.placed)


def shorts_cents(board: Board) -> float:
    """Margin lost on pieces not on the board."""
    pairs = zip(board.grid.demands, board.made(), strict=True)
    return float(sum((d.pieces - made) * board.grid.short_cents(i) for i, (d, made) in enumerate(pairs)))


def load_cents(board: Board, load: Placed) -> float:
    """Quality lost in the hold, and the price of a move, of one load."""
    grid, stream = board.grid, board.grid.streams[load.stream]
    took = board.took(load)
    held = grid.ready_min[load.demand] - (load.finish_step * grid.step_min + took.early_min + stream.cut.rest_min)
    each = stream.cut.hold_loss_cents_per_h * max(0, held - stream.cut.hold_free_min) / 60
    smoke, finish = board.spots[load.smoke_spot].place, board.spots[load.finish_spot].place
    if grid.places[smoke].name != grid.places[finish].name:
        each += stream.cut.move_cents
    return load.pieces * each


PLAIN = Taste()


def rebuild(grid: Grid, frame: Frame, keep: Iterable[Placed], taste: Taste = PLAIN) -> Board:
    """A board under a frame with as many of the loads as still fit, then whatever else can be placed."""
    board = Board.empty(grid, in_step(grid, frame))
    for load in keep:
        board.try_put(load)
    refill(board, taste)
    return board


def remade(board: Board, frame: Frame, keep: list[Placed], taste: Taste = PLAIN) -> Board:
    """The same as `rebuild` for loads that are on a board: only what the other frame breaks is laid anew."""
    if board.grid.pinned is not None:
        return rebuild(board.grid, frame, keep, taste)
    new = board.under(in_step(board.grid, frame))
    new.keep(keep)
    refill(new, taste)
    return new


def in_step(grid: Grid, frame: Frame) -> Frame:
    """The frame with each burn lit at a step of its firebox's own, later by a few steps if need be.

    So the rounds of tending fall on the same steps whenever a burn is lit, and those of two fires on different ones; a
    burn made longer or shorter leaves the hands for all that is beside it as they were.
    """
    levels = [held.copy() for held in frame.levels]
    begun = 0 if grid.pinned is None else grid.pinned.step
    for burn in frame.burns(grid):
        box = grid.fireboxes[burn.firebox]
        later = (burn.firebox - burn.lit) % rounds_every(grid, box)
        if burn.lit >= begun:
            ready = burn.lit + grid.up(box.warm_up_min)
            levels[burn.firebox][ready : ready + later] = 0
    return frame.with_levels(tuple(levels))


def refill(board: Board, taste: Taste) -> None:
    """Place what is missing, dearest pieces first (about so, with noise)."""
    grid, made = board.grid, board.made()
    missing = [d for d in range(len(grid.demands)) if grid.demands[d].pieces > made[d]]

    def dear(d: int) -> float:
        return -grid.short_cents(d) * (1 + 4 * taste.noise * taste.rng.random() if taste.noise else 1.0)

    for d in sorted(missing, key=dear):
        fill(board, d, grid.demands[d].pieces - made[d], taste)


def settle(board: Board, *, old_shifts: bool = False, shortfall_cents: float = SHORTFALL_CENTS) -> Board:
    """The same loads with fires trimmed and, unless the old shifts are to stay, the cheapest shifts.

    Loads for which the shifts do not have the hands are placed anew, or left out.
    """
    levels = trimmed(board)
    placed = list(board.placed)
    if old_shifts and all(np.array_equal(a, b) for a, b in zip(levels, board.frame.levels, strict=True)):
        return board
    spared = board.frame.spared
    shifts = board.frame.shifts if old_shifts else roster(board.under(Frame(levels, (), spared)), shortfall_cents)
    settled = remade(board, tended(board.grid, Frame(levels, shifts, spared)), placed)
    if settled.placed == placed:
        return settled
    # Something moved: fires may be shorter now.
    return remade(settled, tended(board.grid, Frame(trimmed(settled), shifts, spared)), settled.placed)


def tended(grid: Grid, frame: Frame) -> Frame:
    """The frame without the burns, or parts of burns, that its shifts cannot light, tend or clean out."""
    frame = frame if grid.pinned is None else grid.pinned.frame(grid, frame)
    levels = [held.copy() for held in frame.levels]
    warm = [grid.up(box.warm_up_min) for box in grid.fireboxes]
    for held, steps in zip(levels, warm, strict=True):
        held[:steps] = 0  # Nothing is lit before the start of planning.
    able = people_with(grid, frame.shifts, frozenset({"fire"})) * grid.scenario.crew.fires_per_person
    if grid.pinned is not None:
        able[: grid.pinned.helped] = np.inf
    spare = crew_hands(grid, frame).least("fire")
    while True:
        now = in_step(grid, frame.with_levels(tuple(levels)))
        levels = list(now.levels)
        fires = np.zeros(grid.steps, dtype=np.int64)
        burns = now.burns(grid)
        for burn in burns:
            fires[burn.lit : burn.out] += 1
        bad = (fires > able) | (spare - fire_minutes(grid, now) < -1e-6)
        hit = [(burn, k) for burn in burns for k in range(needs_hands_from(grid, burn), burn.out) if bad[k]]
        if not hit:
            return now
        # The burn that was lit last gives way: up to the bad step if that is early in it, else from there on.
        burn, step = max(hit, key=lambda pair: (pair[0].lit, pair[0].firebox))
        ready = burn.lit + warm[burn.firebox]
        if step < ready:
            last = max(k for other, k in hit if other is burn and k < ready)
            levels[burn.firebox][burn.lit : max(last, burn.lit) + warm[burn.firebox] + 1] = 0
        else:
            levels[burn.firebox][step : burn.out] = 0


def needs_hands_from(grid: Grid, burn: Burn) -> int:
    """The step from which a burn may need hands: its clean-out."""
    return max(0, burn.lit - grid.up(grid.fireboxes[burn.firebox].clean_out_min))


def trimmed(board: Board) -> tuple[Ints, ...]:
    """Setpoints of the frame, kept only while a fire carries loads; short pauses are burnt through, and so are those
    after which nobody would have the hands to light it again."""
    spare = board.hands.least("fire")
    return tuple(_trimmed(board, firebox, spare) for firebox in range(len(board.frame.levels)))


def _trimmed(board: Board, firebox: int, spare: Floats) -> Ints:
    grid, held = board.grid, board.frame.levels[firebox]
    box = grid.fireboxes[firebox]
    warm, clean = grid.up(box.warm_up_min), max(1, grid.up(box.clean_out_min))
    used = board.hot[firebox] > 0
    kept: Ints = np.where(used, held, 0)
    for first, second in pairwise(np.flatnonzero(used)):
        if 1 < second - first <= warm + clean + 1:
            kept[first:second] = np.where(held[first:second] > 0, held[first:second], held[first])
    cold = np.flatnonzero(held == 0)
    out = 0
    for burn in burns_of(firebox, kept, warm):
        ready = burn.lit + warm
        old_ready = int(cold[cold < ready].max(initial=-1)) + 1
        again = out > old_ready
        soonest = out + clean if again else old_ready - warm
        lit = _lighting(grid, box, range(soonest, burn.lit + 1), old_ready - warm, spare, again=again)
        start = lit + warm if lit is not None else max(out, old_ready)
        kept[start:ready] = held[start:ready]
        out = burn.out
    return kept


def _lighting(grid: Grid, box: Firebox, steps: range, old_lit: int, spare: Floats, *, again: bool) -> int | None:
    """The last of some steps at which a trimmed burn can be lit; None if there is none.

    Its rounds of tending stay at the steps at which the frame has them, as the hands beside them have been given away
    (not so where they come back to a step too seldom); and at that step, and before it for the clean-out, hands are
    free.
    """
    every = rounds_every(grid, box)
    average = box.tend_min * grid.step_min / box.tend_every_min
    clean = grid.up(box.clean_out_min) if again else 0
    for lit in reversed(steps):
        if lit < 0 or (lit - old_lit) % every:
            continue
        if lit == old_lit:
            return lit
        # What the fire itself takes there now would be given back.
        cleaned = [
            spare[k] + (average if (k - old_lit) % every else box.tend_min) >= clean_min_per_step(grid, box)
            for k in range(lit - clean, lit)
        ]
        if spare[lit] + box.tend_min >= box.light_min and all(cleaned):
            return lit
    return None


def everywhere(grid: Grid, setpoints: Iterable[int]) -> tuple[Ints, ...]:
    """Every fire ready at its setpoint from the first moment it can be until the end."""
    found = []
    for box, setpoint in zip(grid.fireboxes, setpoints, strict=True):
        levels = np.full(grid.steps, setpoint, dtype=np.int64)
        levels[: grid.up(box.warm_up_min)] = 0
        found.append(levels)
    return tuple(found)
