"""Blind tasting forms, and the sealed key that goes with them: two pages, so that the key is not seen by accident."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from scheduler.learn.layout import kinds_of
from scheduler.learn.lots import Blind, Form, lots_by_load, pair_lots, tasting_forms
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.model.scores import SCALES
from scheduler.model.trial import Trial
from scheduler.report.desk import Desk
from scheduler.report.learned_page import own_style
from scheduler.report.page import policy, render, style_sheet
from scheduler.report.words import WRAP_WORDS, cut_text, sentence

ENDS = {
    "tenderness": ("tough", "tender"),
    "bark": ("weak", "strong"),
    "moisture": ("dry", "juicy"),
    "flavor": ("poor", "excellent"),
}
"""Words at the ends of each scale."""
CAUTIONS = (
    "Hot meat for tasting stays at 135 °F or above until it is cut; what has stood out for an unknown time is not "
    "tasted. Ask tasters for allergies and what they do not eat. Local codes come first.",
    "Serve alike: pieces of the same part and size, from the codes alone, water between, no talk until all are done.",
)


@dataclass(frozen=True, slots=True)
class ScaleLine:
    """One scale of the form."""

    name: str
    low: str
    high: str


@dataclass(frozen=True, slots=True)
class FormView:
    """One form."""

    number: int
    pair: int
    first: str
    second: str
    triangle: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FormsPage:
    """Context of the forms."""

    title: str
    what: str
    kitchen: str
    invented: bool
    policy: str
    css: Markup
    forms: tuple[FormView, ...]
    scales: tuple[ScaleLine, ...]
    marks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class KeyPair:
    """One pair of the key."""

    number: int
    load: str
    where: str
    left: str
    left_method: str
    right: str
    right_method: str


@dataclass(frozen=True, slots=True)
class KeyForm:
    """One form of the key: which method each sample is of."""

    number: int
    pair: int
    samples: str
    triangle: str
    odd: str


@dataclass(frozen=True, slots=True)
class KeyMethod:
    """One method."""

    letter: str
    label: str
    how: str


@dataclass(frozen=True, slots=True)
class KeyPage:
    """Context of the key."""

    title: str
    what: str
    kitchen: str
    invented: bool
    policy: str
    css: Markup
    methods: tuple[KeyMethod, ...]
    pairs: tuple[KeyPair, ...]
    forms: tuple[KeyForm, ...]
    cautions: tuple[str, ...]


def forms_html(scenario: Scenario, trial: Trial, tasters: int) -> str:
    """The forms: nothing on them tells the methods."""
    css = Markup(style_sheet() + own_style())
    context = FormsPage(
        title="Tasting form",
        what=cut_text(trial.cut),
        kitchen=scenario.site.name,
        invented=scenario.weekend.invented,
        policy=policy(css),
        css=css,
        forms=tuple(_form(form) for form in tasting_forms(trial, tasters)),
        scales=tuple(ScaleLine(name, *ENDS[name]) for name in SCALES),
        marks=tuple(range(1, 10)),
    )
    return str(render("tasting_forms.html", context))


def _form(form: Form) -> FormView:
    first, second = (blind.code for blind in form.samples)
    return FormView(form.number, form.pair, first, second, tuple(blind.code for blind in form.triangle))


def key_html(plan: Plan, scenario: Scenario, trial: Trial, tasters: int) -> str:
    """The key, for the one person who wraps and plates."""
    css = Markup(style_sheet() + own_style())
    cut = scenario.menu.cut(trial.cut)
    kinds = kinds_of(cut, trial)
    methods = tuple(
        KeyMethod(letter, method.label, " ".join(map(sentence, (WRAP_WORDS[kind], method.how))).strip())
        for letter, method, kind in zip("AB", trial.methods, kinds, strict=True)
    )
    context = KeyPage(
        title=f"Sealed key: {trial.name}",
        what=f"{methods[0].label} (A) against {methods[1].label} (B), {cut_text(trial.cut, 2)}",
        kitchen=scenario.site.name,
        invented=scenario.weekend.invented,
        policy=policy(css),
        css=css,
        methods=methods,
        pairs=_pairs(Desk(plan, scenario), trial),
        forms=tuple(_key_form(form) for form in tasting_forms(trial, tasters)),
        cautions=CAUTIONS,
    )
    return str(render("trial_key.html", context))


def _pairs(desk: Desk, trial: Trial) -> tuple[KeyPair, ...]:
    by_number = {lot.number: code for code, lots in lots_by_load(desk.plan, desk.scenario).items() for lot in lots}
    found = []
    labels = [method.label for method in trial.methods]
    for lot in pair_lots(trial):
        code = by_number.get(lot.number, "")
        load = desk.by_code.get(code)
        if load is None or load.cut != trial.pair_name:
            where = "not cooked"
        else:
            where = f"{desk.moment(load.load_at)}, {desk.smoker_place(load)}"
        found.append(
            KeyPair(
                lot.number,
                code if where != "not cooked" else "",
                where,
                lot.left.code,
                labels[lot.left.side],
                lot.right.code,
                labels[lot.right.side],
            )
        )
    return tuple(found)


def _key_form(form: Form) -> KeyForm:
    return KeyForm(form.number, form.pair, _told(form.samples), _told(form.triangle), form.odd.code)


def _told(blinds: Sequence[Blind]) -> str:
    return ", ".join(f"{blind.code} {'AB'[blind.side]}" for blind in blinds)
