"""Rules on space: every piece has its place, and no place holds more than it has."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.audit.breach import Breach
from scheduler.audit.sweep import Use, peaks
from scheduler.audit.view import LoadView, Spot, View
from scheduler.audit.words import codes_text, spaces_text
from scheduler.model.base import hundredths


def finish_place(view: View) -> Iterator[Breach]:
    """An unwrapped load stays on its rack; an oven has no racks."""
    ovens = {oven.name for oven in view.scenario.site.ovens}
    for load in view.loads:
        said = load.load
        stays = (said.finish_place, said.finish_rack) == (said.smoker, said.rack)
        if said.finish_place in ovens and said.finish_rack is not None:
            sentence = f"Load {load.code} is to finish on rack {said.finish_rack} of {said.finish_place}, an oven."
        elif load.recipe is not None and not load.recipe.wrapped and not stays:
            sentence = f"Load {load.code} is not wrapped, so it must stay on {said.smoker}, rack {said.rack}."
        else:
            continue
        yield view.breach("finish-place", sentence, [load.code], load.finish_from_min)


def oven_only_wrapped(view: View) -> Iterator[Breach]:
    """An oven takes only wrapped pieces whose recipe allows it."""
    for load in view.loads:
        if load.recipe is None or load.finish is None or load.finish.oven is None:
            continue
        if not (load.recipe.wrapped and load.recipe.oven_ok):
            place, recipe = load.finish.place, load.recipe.name
            sentence = f"Load {load.code} finishes in {place}, which its recipe {recipe} does not allow."
            yield view.breach("oven-refused", sentence, [load.code], load.finish_from_min)


def rack_fit(view: View) -> Iterator[Breach]:
    """A rack takes only the cuts that fit on it."""
    for load in view.loads:
        if load.cut is None:
            continue
        for spot in (load.smoke, None if load.finish is load.smoke else load.finish):
            if spot is not None and spot.rack is not None and spot.rack.fits and load.cut.name not in spot.rack.fits:
                sentence = f"Load {load.code}: {load.cut.name} does not fit on {spot.text}."
                yield view.breach("rack-fit", sentence, [load.code], load.load_min)


def rest_place(view: View) -> Iterator[Breach]:
    """A load has a rest shelf if and only if its cut takes rest space."""
    for load in view.loads:
        if load.cut is not None:
            takes, place = load.cut.rest_spaces > 0, load.load.rest_place
            yield from _has_place(view, load, "rest-place", "rest shelf", takes, place, load.early_min)


def hold_place(view: View) -> Iterator[Breach]:
    """A load has a holding cabinet if and only if its cut takes holding space."""
    for load in view.loads:
        if load.cut is not None:
            takes, place = load.cut.hold_spaces > 0, load.load.hold_place
            yield from _has_place(view, load, "hold-place", "holding cabinet", takes, place, load.hold_from_min)


def _has_place(
    view: View, load: LoadView, code: str, kind: str, takes: bool, place: str | None, at: int
) -> Iterator[Breach]:
    if takes and place is None:
        yield view.breach(code, f"Load {load.code} has no {kind}, but {load.load.cut} needs one.", [load.code], at)
    elif not takes and place is not None:
        sentence = f"Load {load.code} is given the {kind} {place}, but {load.load.cut} takes no space there."
        yield view.breach(code, sentence, [load.code], at)


def rack_space(view: View) -> Iterator[Breach]:
    """No rack holds more spaces than it has; a load takes it until its wrap or its late pull."""
    for spot, uses in _cooking(view):
        if spot.rack is not None:
            yield from _overfull(view, "rack-overfull", spot.text, uses, hundredths(spot.rack.spaces))


def oven_space(view: View) -> Iterator[Breach]:
    """No oven holds more spaces than it has; a load takes it from its wrap to its late pull."""
    for spot, uses in _cooking(view):
        if spot.oven is not None:
            yield from _overfull(view, "oven-overfull", spot.text, uses, hundredths(spot.oven.spaces))


def rest_space(view: View) -> Iterator[Breach]:
    """No rest shelf holds more than it has; a load takes it from its early pull to its late pull plus rest."""
    uses: dict[str, list[Use]] = defaultdict(list)
    for load in view.loads:
        if load.cut is not None and load.rest is not None:
            size = load.load.pieces * hundredths(load.cut.rest_spaces)
            uses[load.rest.name].append(Use(*load.rest_span(load.cut.rest_min), size, load.code))
    sizes = {shelf.name: hundredths(shelf.spaces) for shelf in view.scenario.site.rest_shelves}
    yield from _all_overfull(view, "rest-overfull", uses, sizes)


def hold_space(view: View) -> Iterator[Breach]:
    """No holding cabinet holds more than it has; a load takes it from its early pull plus rest until served."""
    uses: dict[str, list[Use]] = defaultdict(list)
    for load in view.loads:
        if load.cut is not None and load.hold is not None:
            size = load.load.pieces * hundredths(load.cut.hold_spaces)
            uses[load.hold.name].append(Use(*load.hold_span(), size, load.code))
    sizes = {cabinet.name: hundredths(cabinet.spaces) for cabinet in view.scenario.site.hold_cabinets}
    yield from _all_overfull(view, "hold-overfull", uses, sizes)


def _cooking(view: View) -> Iterator[tuple[Spot, list[Use]]]:
    uses: dict[str, list[Use]] = defaultdict(list)
    spots: dict[str, Spot] = {}
    for load in view.loads:
        if load.cut is not None:
            size = load.load.pieces * hundredths(load.cut.spaces)
            for stay in load.stays():
                spots[stay.spot.text] = stay.spot
                uses[stay.spot.text].append(Use(stay.start, stay.end, size, load.code))
    for text, taken in uses.items():
        yield spots[text], taken


def _all_overfull(
    view: View, code: str, uses: Mapping[str, Sequence[Use]], sizes: Mapping[str, int]
) -> Iterator[Breach]:
    for name, taken in uses.items():
        yield from _overfull(view, code, name, taken, sizes[name])


def _overfull(view: View, code: str, place: str, uses: Sequence[Use], size: int) -> Iterator[Breach]:
    for peak in peaks(uses, size):
        if _nobodys_choice(view, place, peak.codes):
            continue
        sentence = (
            f"{place} may have to hold {spaces_text(peak.most)} spaces but has {spaces_text(size)}, "
            f"{view.words.day_span(peak.start, peak.end)} ({codes_text(peak.codes)})."
        )
        yield view.breach(code, sentence, peak.codes, peak.start)


def _nobodys_choice(view: View, place: str, codes: Iterable[str]) -> bool:
    """True if all that is on a rack was put there before the plan was changed: nobody can undo that."""
    if view.past is None:
        return False
    here = [view.past.of(code, view.by_code[code].load.part_of) for code in codes]
    return all(b is not None and place in (b.spot.place, f"{b.spot.place}, rack {b.spot.rack}") for b in here)


def out_of_use(view: View) -> Iterator[Breach]:
    """Nothing cooks, burns, rests or is held where the place is out of use; a dead firebox stops its smokers."""
    for load in view.loads:
        for stay in load.stays():
            yield from _in_use(view, stay.spot.out_names, stay.start, stay.end, load.code)
        if load.cut is not None and load.rest is not None:
            yield from _in_use(view, (load.rest.name,), *load.rest_span(load.cut.rest_min), load.code)
        if load.hold is not None:
            yield from _in_use(view, (load.hold.name,), *load.hold_span(), load.code)
    for fire in view.fires:
        yield from _in_use(view, (fire.fire.firebox,), fire.lit_min, fire.out_min, None)


def _in_use(view: View, names: Iterable[str], start: int, end: int, load: str | None) -> Iterator[Breach]:
    for name in names:
        for gone, back in view.out_of_use.get(name, ()):
            if start < end and gone < end and start < back:
                what = "A burn" if load is None else f"Load {load}"
                sentence = f"{what} needs {name} {view.words.day_span(start, end)}, but it is out of use then."
                yield view.breach("out-of-use", sentence, () if load is None else [load], max(start, gone))
