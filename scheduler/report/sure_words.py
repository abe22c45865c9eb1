"""What a rehearsal says, in sentences."""

from __future__ import annotations

from scheduler.rehearse import Rehearsal, WaveOdds
from scheduler.report.words import (
    ClockStyle,
    count_text,
    kind_of_place,
    list_text,
    money_text,
    pieces_text,
    wave_text,
)

WEAKEST = 3
LIKE = 100


def in_hundred(share: float) -> str:
    """Odds as so many weekends in a hundred; never 0 or 100 where it is not."""
    if 0 < share < 0.005:
        return f"less than 1 in {LIKE}"
    if 0.995 < share < 1:
        return f"more than 99 in {LIKE}"
    return f"{share * LIKE:.0f} in {LIKE}"


def wave_words(wave: WaveOdds, clock: ClockStyle) -> str:
    """One wave's odds: "8 slabs of spare ribs for Sat 1 pm in 60 in 100"."""
    return f"{pieces_text(wave.pieces, wave.cut)} for {wave_text(wave.wave, clock)} in {in_hundred(wave.ready)}"


def sure_words(found: Rehearsal, clock: ClockStyle) -> tuple[str, ...]:
    """The rehearsal in a few sentences for the crew."""
    if not found.waves:
        return ()
    weakest = sorted(found.waves, key=lambda wave: (wave.ready, wave.cut, wave.wave))[:WEAKEST]
    middle = sorted(wave.ready for wave in found.waves)[len(found.waves) // 2]
    low, half, high = (round(n) for n in found.wrap_wait_min)
    full = [f"{kind_of_place(h.name, 'cabinet')} in {in_hundred(h.overfull)}" for h in found.holds if h.overfull > 0]
    waves = count_text(len(found.waves), "wave")
    lines = [
        f"Rehearsed {found.runs:,} times, with cooks early and late, fires that make all on them late, and people "
        f"faster or slower: a middling wave has all its pieces ready in time in {in_hundred(middle)}; everything, "
        f"to the last piece of {waves}, in {in_hundred(found.all_ready)}.",
        f"Least sure: {list_text([wave_words(wave, clock) for wave in weakest])}.",
        f"The longest wait at the wrap table is {half} min ({low} to {high}).",
    ]
    if full:
        lines.append(f"Overfull at some time: {list_text(full)}.")
    risk, bad = money_text(round(found.risk_cents)), money_text(round(found.bad_risk_cents))
    lines.append(f"At risk by being late: {risk} of margin on average, and more than {bad} in 1 weekend of 10.")
    return tuple(lines)
