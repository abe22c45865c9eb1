"""What may and may not be concluded from a trial, in plain words."""

from __future__ import annotations

from scheduler.learn.trial_result import Measured, ScaleResult, TrialResult
from scheduler.learn.verdict import Counted, Paired
from scheduler.report.words import count_text

FEWEST_PAIRS = 3
SURE = "odds of chance alone {chance}; clear is 1 in 20 or less"


def chance_text(chance: float) -> str:
    """Odds in words: "1 in 250", "3 in 4"."""
    if chance >= 0.5:
        return f"{chance:.0%}"
    return f"1 in {round(1 / chance):,}" if chance > 1e-6 else "less than 1 in a million"


def result_lines(found: TrialResult) -> tuple[str, ...]:
    """The whole result."""
    first, second = (method.label for method in found.trial.methods)
    lines = [
        f"Trial {found.trial.name}: {first} against {second}, {count_text(found.trial.pairs, 'pair')} cooked, "
        f"{count_text(found.forms, 'form')} read from {count_text(found.pairs_tasted, 'pair')}.",
        _triangle(found.triangle),
        _preference(found.preference, first, second),
    ]
    lines += [_scale(scale, first, second) for scale in found.scales]
    lines += [_measured(one, first, second) for one in found.measured]
    lines.append(_conclusion(found))
    if found.pairs_tasted < FEWEST_PAIRS and found.forms:
        lines.append(
            f"May not be concluded: that it holds for the methods. {count_text(found.forms, 'form')} on "
            f"{count_text(found.pairs_tasted, 'pair')} judge these pieces; two pieces cooked alike differ too. "
            "Cook and taste more pairs."
        )
    return (*lines, *found.notes)


def _more(more: int | None, noun: str) -> str:
    if more is None:
        return f" If it stays like this, more {noun}s will not settle it."
    return (
        f" About {more:,} more {noun}{'s' if more > 1 else ''} would settle it, if it stays like this." if more else ""
    )


def _triangle(found: Counted) -> str:
    if not found.of:
        return "Triangle: nobody answered."
    need = "no number of them could show" if found.needed is None else f"{found.needed} would show"
    said = "They can be told apart" if found.clear else "Not shown that they can be told apart"
    return (
        f"Triangle: {found.hits} of {found.of} found the odd one; by guessing about {found.of / 3:.0f} do, "
        f"and {need} a difference. {said} ({SURE.format(chance=chance_text(found.chance))})."
        f"{_more(found.more, 'answer')}"
    )


def _preference(found: Counted, first: str, second: str) -> str:
    if not found.of:
        return "Preference: nobody answered."
    other = found.of - found.hits
    ahead, most = (second, found.hits) if found.hits > other else (first, other)
    low, high = (found.low, found.high) if found.hits > other else (1 - found.high, 1 - found.low)
    said = f"{ahead} is preferred" if found.clear else "No preference is shown"
    return (
        f"Preference: {other} for {first}, {found.hits} for {second}. {said} "
        f"({SURE.format(chance=chance_text(found.chance))}; between {low:.0%} and {high:.0%} prefer "
        f"{ahead if most != other or most == found.hits else first}).{_more(found.more, 'answer')}"
    )


def _span(found: Paired) -> str:
    return f"{found.mean:+.2f} ({found.low:+.2f} to {found.high:+.2f})"


def _scale(found: ScaleResult, first: str, second: str) -> str:
    name = f"{found.name[0].upper()}{found.name[1:]}"
    if found.forms is None:
        return f"{name}: too few marks."
    clear = found.chance <= 0.05
    side = second if found.forms.mean > 0 else first
    said = f"{side} is marked higher" if clear else "no difference is shown"
    text = f"{name}, {second} less {first}: {_span(found.forms)} points of 9; {said} in these pieces"
    text += f" (chance alone {chance_text(found.chance)}, counted for all scales)."
    if found.pairs is not None:
        text += f" Over {count_text(found.pairs.count, 'pair')}: {_span(found.pairs)}, "
        text += "clear of the methods too." if found.pairs.clear else "not shown of the methods."
        text += _more(found.pairs.more, "pair")
    return text


def _measured(found: Measured, first: str, second: str) -> str:
    name = f"{found.name[0].upper()}{found.name[1:]}"
    if found.single is not None:
        return f"{name}, {second} less {first}: {found.single:+.1f} {found.unit} in one pair, which shows nothing."
    if found.result is None:
        return f"{name}: no pair has both pieces in the log."
    said = "shown" if found.result.clear else "not shown"
    flips = "" if found.result.flipped is None else f", by flips of signs {chance_text(found.result.flipped)}"
    return (
        f"{name}, {second} less {first}: {_span(found.result)} {found.unit} over {count_text(found.count, 'pair')}; "
        f"a difference is {said} (chance alone {chance_text(found.result.chance)}{flips})."
        f"{_more(found.result.more, 'pair')}"
    )


def _conclusion(found: TrialResult) -> str:
    clear = []
    if found.triangle.clear:
        clear.append("tasters can tell the two apart")
    if found.preference.clear:
        first, second = (method.label for method in found.trial.methods)
        ahead = second if found.preference.hits * 2 > found.preference.of else first
        clear.append(f"they prefer {ahead}")
    clear += [f"{scale.name} differs" for scale in found.scales if scale.forms is not None and scale.chance <= 0.05]
    clear += [f"{one.name} differs" for one in found.measured if one.result is not None and one.result.clear]
    if clear:
        return f"May be concluded, of these pieces: {'; '.join(clear)}."
    return "May be concluded: nothing yet. That no difference was shown does not show that there is none."
