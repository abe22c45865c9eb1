"""Arithmetic over stretches of steps, for finding a place for loads."""

from __future__ import annotations

import numpy as np

from scheduler.solve.frame import Floats, Ints


def window(array: Ints | Floats, starts: range, length: int) -> Ints:
    """Least value over windows of a length at each of the starts; 0 where a window leaves the array."""
    inside = min(len(starts), (len(array) - length - starts.start) // starts.step + 1)
    if inside <= 0:
        return np.zeros(len(starts), dtype=array.dtype)
    if not length:
        return np.full(len(starts), np.iinfo(np.int64).max // 4)
    # A view by strides: the public helper for it costs more than the whole minimum.
    item = array.strides[0]
    windows: Ints = np.ndarray((inside, length), array.dtype, array, starts.start * item, (starts.step * item, item))
    least: Ints = windows.min(axis=1)
    if inside < len(starts):
        least = np.append(least, np.zeros(len(starts) - inside, dtype=array.dtype))
    return least


def least(rows: Ints, starts: range, length: int) -> Ints:
    """The same for each of several rows."""
    inside = min(len(starts), (rows.shape[1] - length - starts.start) // starts.step + 1)
    found: Ints = np.zeros((len(rows), len(starts)), dtype=rows.dtype)
    if not length:
        found[:] = np.iinfo(np.int64).max // 4
    elif inside > 0 and len(rows):
        row, item = rows.strides
        shape, strides = (len(rows), inside, length), (row, starts.step * item, item)
        np.ndarray(shape, rows.dtype, rows, starts.start * item, strides).min(axis=2, out=found[:, :inside])
    return found


def before(rows: Ints | Floats, steps: range, delays: range) -> Ints | Floats:
    """What each row holds so many steps before each of some steps, by row, delay and step; 0 before its start."""
    ahead = max(0, delays[-1] - steps.start)
    if ahead:
        rows = np.concatenate([np.zeros((len(rows), ahead), dtype=rows.dtype), rows], axis=1)
    row, item = rows.strides
    shape, strides = (len(rows), len(delays), len(steps)), (row, -item, item)
    return np.ndarray(shape, rows.dtype, rows, (steps.start + ahead - delays.start) * item, strides)


def run(total: Floats, starts: range, length: int) -> Floats:
    """Sum over `length` steps from each start, from running totals by row; cut at the end of the grid."""
    first = np.arange(starts.start, starts.stop)
    end = np.minimum(first + length, total.shape[1] - 1)
    found: Floats = total[:, end] - total[:, np.minimum(first, total.shape[1] - 1)]
    return found


def whole(pieces: Floats) -> Ints:
    """Whole pieces, blind to the dust of floating point."""
    return np.floor(np.maximum(pieces, 0) + 1e-6).astype(np.int64)


def per_piece(minutes: Floats, each_min: float) -> Ints:
    """Pieces for which the minutes are enough; no limit where a piece takes none."""
    if not each_min:
        return np.full(len(minutes), np.iinfo(np.int64).max // 4, dtype=np.int64)
    return whole(minutes / each_min)
