"""Rules on temperature: setpoints a firebox can hold, and every load inside its band at every moment."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from scheduler.audit.breach import Breach
from scheduler.audit.view import FireView, Stay, View


def known_setpoints(view: View) -> Iterator[Breach]:
    """A setpoint is one of those that the firebox can hold."""
    for fire in view.fires:
        if fire.firebox is None:
            continue
        for moment, setpoint in fire.setpoints:
            if setpoint not in fire.firebox.setpoints_f:
                held = ", ".join(str(f) for f in fire.firebox.setpoints_f)
                sentence = f"{fire.firebox.name} is set to {setpoint} F {view.words.at(moment)}; it can hold {held} F."
                yield view.breach("setpoint-unknown", sentence, at=moment)


def setpoint_order(view: View) -> Iterator[Breach]:
    """The first setpoint holds from the end of the warm-up; later ones follow in order, inside the burn."""
    for fire in view.fires:
        times = [moment for moment, _ in fire.setpoints]
        name = fire.fire.firebox
        if times[0] != fire.ready_min:
            sentence = (
                f"The first setpoint of {name} holds from {view.words.time(times[0])}, "
                f"but the fire is ready {view.words.at(fire.ready_min)}."
            )
            yield view.breach("setpoint-order", sentence, at=times[0])
        for before, after in pairwise(times):
            if not before < after < fire.out_min:
                sentence = f"The setpoint of {name} {view.words.at(after)} is out of order or outside its burn."
                yield view.breach("setpoint-order", sentence, at=after)


def rack_temperature(view: View) -> Iterator[Breach]:
    """Every load accepts each temperature that its rack may have while it is there, changes included."""
    found = [(fire, held(fire)) for fire in view.fires if fire.firebox is not None]
    for load in view.loads:
        for stay in load.stays():
            if stay.spot.firebox is None:
                continue
            for fire, spans in found:
                if fire.fire.firebox == stay.spot.firebox.name:
                    yield from _refused(view, stay, spans)


def held(fire: FireView) -> list[tuple[int, int, int]]:
    """(from, until, F) of each setpoint, from the start of the change to it to the end of the change from it."""
    change = 0 if fire.firebox is None else fire.firebox.setpoint_change_min
    ends = [moment for moment, _ in fire.setpoints[1:]] + [fire.out_min]
    starts = [fire.ready_min] + [moment - change for moment, _ in fire.setpoints[1:]]
    return [(start, end, f) for start, end, (_, f) in zip(starts, ends, fire.setpoints, strict=True)]


def _refused(view: View, stay: Stay, spans: list[tuple[int, int, int]]) -> Iterator[Breach]:
    for start, end, setpoint in spans:
        if not (start < stay.end and stay.start < end):
            continue
        rack_f = setpoint + stay.spot.offset_f
        if not stay.low_f <= rack_f <= stay.high_f:
            first, last = max(start, stay.start), min(end, stay.end)
            sentence = (
                f"Load {stay.code} may meet {rack_f} F on {stay.spot.text}, {view.words.day_span(first, last)}; "
                f"it needs {stay.low_f} to {stay.high_f} F."
            )
            yield view.breach("rack-temperature", sentence, [stay.code], first)


def oven_temperature(view: View) -> Iterator[Breach]:
    """An oven's temperature lies in the finish band of every load in it."""
    for load in view.loads:
        if load.recipe is None or load.finish is None or load.finish.oven is None:
            continue
        low, high = load.recipe.finish_band_f
        if not low <= load.finish.oven.oven_f <= high:
            sentence = (
                f"Load {load.code} finishes in {load.finish.place} at {load.finish.oven.oven_f} F; "
                f"it needs {low} to {high} F."
            )
            yield view.breach("oven-temperature", sentence, [load.code], load.finish_from_min)
