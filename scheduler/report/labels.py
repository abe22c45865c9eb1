"""The label page: one label for each load, to cut out and hang on the rack."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.model.plan import Load
from scheduler.report.desk import Desk
from scheduler.report.words import cut_text


@dataclass(frozen=True, slots=True)
class LabelLine:
    """One line of a label."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Label:
    """The label of one load."""

    code: str
    pieces: int
    cut: str
    lines: tuple[LabelLine, ...]


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """Context of the label page."""

    anchor: str
    title: str
    labels: tuple[Label, ...]


def _wrap_line(desk: Desk, load: Load) -> str:
    if load.wrap_at is None:
        return "not wrapped"
    to = f", then {desk.finish_place(load)}" if load.moved or load.finish_rack != load.rack else ""
    return f"{desk.moment(load.wrap_at)} {desk.wrap_words(load)} ({desk.wrap_span(load)}){to}"


def _done_line(desk: Desk, load: Load) -> str:
    return f"{desk.cut(load).done_f} °F, {desk.day_span(load.early_done_at, load.late_done_at)}"


def _label(desk: Desk, load: Load) -> Label:
    lines: tuple[LabelLine, ...] = (
        LabelLine("Load", f"{desk.moment(load.load_at)}, {desk.smoker_place(load).removesuffix(' rack')}"),
        LabelLine("Wrap", _wrap_line(desk, load)),
        LabelLine("Done", _done_line(desk, load)),
        LabelLine("Then", desk.after_words(load) or "serve"),
        LabelLine(
            "Ready",
            f"{desk.moment(load.ready_by_at)}, until {desk.near(load.served_until_at, load.ready_by_at)}",
        ),
    )
    codes = desk.blind_words(load)
    if codes:
        lines += (LabelLine("Trial", codes),)
    return Label(load.code, load.pieces, cut_text(load.cut, load.pieces), lines)


def label_sheet(desk: Desk) -> LabelSheet | None:
    """Labels in the order of loading; None if there are no loads."""
    loads = sorted(desk.plan.loads, key=lambda load: (load.load_at, load.code))
    return LabelSheet("labels", "Labels", tuple(_label(desk, load) for load in loads)) if loads else None
