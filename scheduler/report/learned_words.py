"""What was learned, in words for the terminal and the page."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.learn.calibration import Kept, Ratio
from scheduler.learn.effects import told
from scheduler.learn.ranges import LEAST_COOKS, LearnedRange, Lessons
from scheduler.model.base import Range
from scheduler.model.cooks import Cook
from scheduler.model.weekend import minutes_text
from scheduler.report.words import count_text, cut_text, list_text

NOTABLE_SHARE = 0.15


@dataclass(frozen=True, slots=True)
class RangeRow:
    """One recipe's line."""

    what: str
    planned: str
    learned: str
    interval: str
    cooks: str
    why: str


@dataclass(frozen=True, slots=True)
class KeptRow:
    """One line of how the promise was kept."""

    what: str
    cooks: str
    early: str
    late: str
    warning: str


def hours_text(minutes: float) -> str:
    """Hours and minutes, short: "7:45"."""
    whole = round(minutes)
    return f"{whole // 60}:{whole % 60:02d}"


def range_text(value: Range) -> str:
    """Early, likely, late: "4:45 / 7:45 / 10:45"."""
    return " / ".join(hours_text(m) for m in (value.early_min, value.likely_min, value.late_min))


def range_row(found: LearnedRange) -> RangeRow:
    """The line of a recipe."""
    figures = (found.early, found.likely, found.late)
    interval = "; ".join(f"{hours_text(max(0, f.low))} to {hours_text(f.high)}" for f in figures)
    cooks = f"{found.ended}" + (f" + {found.cut_off} cut off" if found.cut_off else "")
    return RangeRow(
        what=f"{found.cut}, {found.recipe}",
        planned=range_text(found.planned),
        learned=range_text(found.found),
        interval=interval,
        cooks=cooks,
        why=" ".join(_why(found)),
    )


def _why(found: LearnedRange) -> list[str]:
    if found.ended < LEAST_COOKS:
        return [f"Fewer than {LEAST_COOKS} cooks came to an end, so the menu stays."]
    lines = [_moved(found)]
    if found.planned != found.before:
        lines.append(f"Before anything was learned it was {range_text(found.before)}.")
    if found.curve_min is not None and abs(found.curve_min / found.before.likely_min - 1) > NOTABLE_SHARE:
        lines.append(f"The cook-time curve says {hours_text(found.curve_min)}, so the menu was believed less.")
    return lines


def _moved(found: LearnedRange) -> str:
    if not found.moved:
        return "The cooks bear the menu out."
    later = found.found.likely_min - found.planned.likely_min
    parts = []
    if later:
        parts.append(f"likely is {minutes_text(abs(later))} {'longer' if later > 0 else 'shorter'}")
    sides = (
        ("early", found.found.likely_min - found.found.early_min, found.planned.likely_min - found.planned.early_min),
        ("late", found.found.late_min - found.found.likely_min, found.planned.late_min - found.planned.likely_min),
    )
    for name, now, was in sides:
        if now != was:
            parts.append(f"the {name} side {minutes_text(abs(now - was))} {'wider' if now > was else 'narrower'}")
    text = list_text(parts)
    return f"{text[0].upper()}{text[1:]}."


def odd_lines(found: Lessons) -> tuple[str, ...]:
    """Cooks that look odd, named."""
    return tuple(_odd(cook) for one in found.ranges for cook in one.odd)


def _odd(cook: Cook) -> str:
    when = f"{cook.at:%b} {cook.at.day}, {cook.at.year}"
    return (
        f"{cook.said}: {cut_text(cook.cut)} of {when} took {hours_text(cook.minutes)} by {cook.recipe}. "
        "A slip of the pen, or a piece apart? Mend or remove the line if it is wrong."
    )


def effect_lines(found: Lessons) -> tuple[str, ...]:
    """What smokers, racks and people add."""
    lines = []
    for effect in told(found.effects):
        side = "longer" if effect.share > 0 else "shorter"
        who = f"With {effect.name}" if effect.kind == "person" else f"On {effect.name}"
        lines.append(f"{who}: cooks take {abs(effect.share):.0%} {side} ({count_text(effect.cooks, 'cook')}).")
    return tuple(lines)


def kept_rows(found: tuple[Kept, ...]) -> tuple[KeptRow, ...]:
    """Lines of the promise."""
    return tuple(
        KeptRow(
            what=kept.name,
            cooks=f"{kept.cooks}" + (f", {kept.cut_off} cut off" if kept.cut_off else ""),
            early=f"{kept.before_early.share:.0%} ({kept.before_early.low:.0%} to {kept.before_early.high:.0%})",
            late=f"{kept.after_late.share:.0%} ({kept.after_late.low:.0%} to {kept.after_late.high:.0%})",
            warning=kept.warning,
        )
        for kept in found
    )


def ratio_lines(found: tuple[Ratio, ...]) -> tuple[str, ...]:
    """Minutes and wood against plan."""
    return tuple(
        f"{ratio.name[0].upper()}{ratio.name[1:]}: {ratio.ratio:.2f} times what is planned "
        f"({ratio.low:.2f} to {ratio.high:.2f}, {count_text(ratio.count, 'entry')})"
        + (". The plan is off." if ratio.off else ".")
        for ratio in found
    )
