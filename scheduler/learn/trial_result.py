"""The scores and the log of a trial, unblinded and put together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduler.learn.lots import Form, sides_by_piece, tasting_forms
from scheduler.learn.verdict import Counted, Paired, holm, paired, preference, triangle
from scheduler.model.clock import elapsed_min
from scheduler.model.log import Log, PieceSeen
from scheduler.model.scores import SCALES, Scores
from scheduler.model.trial import Trial


@dataclass(frozen=True, slots=True)
class ScaleResult:
    """One scale, second method less first."""

    name: str
    forms: Paired | None
    """Over the forms: of these pieces."""
    pairs: Paired | None
    """Over the pairs: of the methods."""
    chance: float
    """Of the forms, put right for the number of scales."""


@dataclass(frozen=True, slots=True)
class Measured:
    """Something weighed or timed by pair, second method less first."""

    name: str
    unit: str
    result: Paired | None
    count: int
    single: float | None
    """The difference where there is one pair only."""


@dataclass(frozen=True, slots=True)
class TrialResult:
    """All that can be said."""

    trial: Trial
    forms: int
    pairs_tasted: int
    triangle: Counted
    preference: Counted
    """Hits are for the second method."""
    scales: tuple[ScaleResult, ...]
    measured: tuple[Measured, ...]
    notes: tuple[str, ...]


def trial_result(trial: Trial, scores: Sequence[Scores], log: Log) -> TrialResult:
    """Read the scores by the trial's own lots."""
    forms = {form.number: form for form in tasting_forms(trial, max((s.form for s in scores), default=0))}
    notes: list[str] = []
    odd = [_right(forms[s.form], s, notes) for s in scores if s.odd is not None]
    liked = [_liked(forms[s.form], s, notes) for s in scores if s.prefers is not None]
    right = [value for value in odd if value is not None]
    seconds = [value for value in liked if value is not None]
    scales = tuple(_scale(i, forms, scores) for i in range(len(SCALES)))
    known = [scale for scale in scales if scale.forms is not None]
    chances = holm([scale.forms.chance for scale in known if scale.forms is not None])
    by_name = dict(zip((scale.name for scale in known), chances, strict=True))
    return TrialResult(
        trial=trial,
        forms=len(scores),
        pairs_tasted=len({forms[s.form].pair for s in scores}),
        triangle=triangle(sum(right), len(right)),
        preference=preference(sum(seconds), len(seconds)),
        scales=tuple(ScaleResult(s.name, s.forms, s.pairs, by_name.get(s.name, 1.0)) for s in scales),
        measured=_measured(trial, log, notes),
        notes=tuple(notes),
    )


def _right(form: Form, scores: Scores, notes: list[str]) -> bool | None:
    codes = [blind.code for blind in form.triangle]
    if scores.odd not in codes:
        notes.append(f"Form {form.number}: {scores.odd} is none of its three samples ({', '.join(codes)}); left out.")
        return None
    return scores.odd == form.odd.code


def _liked(form: Form, scores: Scores, notes: list[str]) -> bool | None:
    """True if the second method's sample was preferred."""
    side = {blind.code: blind.side for blind in form.samples}.get(scores.prefers or "")
    if side is None:
        codes = ", ".join(blind.code for blind in form.samples)
        notes.append(f"Form {form.number}: {scores.prefers} is none of its two samples ({codes}); left out.")
        return None
    return side == 1


def _scale(index: int, forms: dict[int, Form], scores: Iterable[Scores]) -> ScaleResult:
    by_pair: dict[int, list[float]] = defaultdict(list)
    differences = []
    for one in scores:
        form = forms[one.form]
        marks = one.first[index], one.second[index]
        if marks[0] is None or marks[1] is None:
            continue
        difference = float(marks[1] - marks[0])
        if form.samples[0].side == 1:  # the second method was served first
            difference = -difference
        differences.append(difference)
        by_pair[form.pair].append(difference)
    means = [sum(values) / len(values) for values in by_pair.values()]
    return ScaleResult(SCALES[index], paired(differences), paired(means), 1.0)


def _measured(trial: Trial, log: Log, notes: list[str]) -> tuple[Measured, ...]:
    """Yield and time to done by pair, from the log."""
    sides = sides_by_piece(trial)
    seen: dict[str, PieceSeen] = {}
    for event in log.events:
        if isinstance(event, PieceSeen):
            if event.code in sides:
                before = seen.get(event.code)
                known = {} if before is None else before.model_dump(exclude_none=True)
                seen[event.code] = PieceSeen.model_validate(known | event.model_dump(exclude_none=True))
            else:
                notes.append(f"The log speaks of piece {event.code}, which is none of trial {trial.name}'s.")
    pairs: dict[int, dict[int, PieceSeen]] = defaultdict(dict)
    for code, piece in seen.items():
        number, side = sides[code]
        pairs[number][side] = piece
    whole = [pair for pair in pairs.values() if len(pair) == 2]
    yields = [_yield(pair[1]) - _yield(pair[0]) for pair in whole if _weighed(pair[0]) and _weighed(pair[1])]
    times = [
        float(elapsed_min(pair[0].done, pair[1].done)) for pair in whole if pair[0].done is not None and pair[1].done
    ]
    return _told("yield", "points of percent", yields), _told("time to done", "min", times)


def _told(name: str, unit: str, values: list[float]) -> Measured:
    return Measured(name, unit, paired(values), len(values), values[0] if len(values) == 1 else None)


def _weighed(piece: PieceSeen) -> bool:
    return piece.raw_lb is not None and piece.cooked_lb is not None


def _yield(piece: PieceSeen) -> float:
    assert piece.raw_lb is not None
    assert piece.cooked_lb is not None
    return 100 * piece.cooked_lb / piece.raw_lb
