"""Rules on waves: the plan makes or misses exactly what is asked, ready in time, held no longer than allowed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scheduler.audit.breach import Breach
from scheduler.audit.view import LoadView, View, WaveKey
from scheduler.model.weekend import minutes_text


def unknown_waves(view: View) -> Iterator[Breach]:
    """Every load and every short belongs to a wave or an order of the weekend."""
    for load in view.loads:
        if load.demand is None:
            sentence = f"Load {load.code} is for {load.load.cut}, {load.load.wave}, which nobody asked for."
            yield view.breach("unknown-wave", sentence, [load.code], load.ready_min)
    for short in view.plan.shorts:
        if (short.cut, short.wave) not in view.demands:
            yield Breach("unknown-wave", f"{short.cut}, {short.wave} is said to be short, but nobody asked for it.")


def wave_balance(view: View) -> Iterator[Breach]:
    """Pieces loaded for a wave and pieces short make up its demand."""
    made: Counter[WaveKey] = Counter()
    short: Counter[WaveKey] = Counter()
    for load in view.loads:
        made[load.key] += load.load.pieces
    for item in view.plan.shorts:
        short[item.cut, item.wave] += item.pieces
    for key, demand in view.demands.items():
        if made[key] + short[key] != demand.pieces:
            sentence = (
                f"{demand.cut}, {demand.wave}: {made[key]} loaded and {short[key]} short make "
                f"{made[key] + short[key]} pieces, but the wave asks for {demand.pieces}."
            )
            codes = [load.code for load in view.waves.get(key, ())]
            yield view.breach("wave-balance", sentence, codes, view.minute(demand.ready_by_at))


def wave_times(view: View) -> Iterator[Breach]:
    """A load's ready and served times are those of its wave."""
    for load in view.loads:
        if load.demand is None:
            continue
        ready, served = view.minute(load.demand.ready_by_at), view.minute(load.demand.served_until_at)
        if (load.ready_min, load.served_min) != (ready, served):
            sentence = (
                f"Load {load.code} is planned for serving {view.words.day_span(load.ready_min, load.served_min)}, "
                f"but its wave {load.load.wave} is served {view.words.day_span(ready, served)}."
            )
            yield view.breach("wave-times", sentence, [load.code], load.ready_min)


def ready_in_time(view: View) -> Iterator[Breach]:
    """The late pull and the least rest come before the wave."""
    for load in view.loads:
        if load.cut is None:
            continue
        ready = load.late_min + load.cut.rest_min
        if ready > load.ready_min and not _may_be_late(view, load, ready):
            sentence = (
                f"Load {load.code} may be done as late as {view.words.time(load.late_min)} and rests "
                f"{minutes_text(load.cut.rest_min)}, so it can be ready only {view.words.at(ready)}, "
                f"after its wave at {view.words.time(load.ready_min)}."
            )
            yield view.breach("not-ready", sentence, [load.code], load.ready_min)


def _may_be_late(view: View, load: LoadView, ready: int) -> bool:
    """A load that is on already may come into the serving of its wave, where that is told."""
    begun = view.past is not None and view.past.of(load.code, load.load.part_of) is not None
    return begun and ready < load.served_min


def hold_limit(view: View) -> Iterator[Breach]:
    """From the early pull plus rest to the end of serving is no longer than the cut may be held."""
    for load in view.loads:
        if load.cut is None:
            continue
        held = load.served_min - load.hold_from_min
        if held > load.cut.hold_max_min:
            sentence = (
                f"Load {load.code} may be held from {view.words.day_span(load.hold_from_min, load.served_min)}: "
                f"{minutes_text(held)}, and {load.cut.name} keeps {minutes_text(load.cut.hold_max_min)}."
            )
            yield view.breach("held-too-long", sentence, [load.code], load.hold_from_min + load.cut.hold_max_min)
