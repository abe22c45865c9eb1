"""The table of rules itself: every rule is silent on a plan that does nothing and on the good plan, and is tested."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from audit_kitchen import idle, kitchen, t

from scheduler.audit import RULES
from scheduler.audit.reading import look


@pytest.mark.parametrize("code", RULES)
def test_trivial_a_plan_that_does_nothing_keeps_the_rule(code: str) -> None:
    nothing = idle()
    assert list(RULES[code](look(nothing.plan, nothing.scenario))) == [] or code == "cost-differs"


def test_the_idle_plan_and_the_good_plan_keep_every_rule() -> None:
    assert idle().breaches() == ()
    assert kitchen().breaches(reprice=False) == ()


def test_every_rule_has_a_forbidden_and_an_allowed_case() -> None:
    text = "\n".join(path.read_text() for path in Path(__file__).parent.glob("test_*.py"))
    named = set(re.findall(r"def test_(\w+?)_(forbidden|allowed)", text))
    asked = {(code.replace("-", "_"), kind) for code in RULES for kind in ("forbidden", "allowed")}
    assert asked - named == set()


def test_codes_are_kebab_case_and_docstrings_say_the_rule() -> None:
    for code, rule in RULES.items():
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", code)
        assert (rule.__doc__ or "").split("\n")[0].endswith(".")


def test_a_breach_is_one_sentence_with_loads_and_a_local_time() -> None:
    breach = kitchen().load("BR01", wrap_at=t("5:00")).the("wrap-task")
    assert breach.loads == ("BR01",)
    assert breach.at == t("5:30")
    late = kitchen().load("BR01", wrap_at=t("6:10")).the("wrap-window")
    assert late.sentence == "Load BR01 is wrapped on Sat at 6:10 am, after its window (5:00 to 6:00 am)."
    assert late.at == t("6:10")


def test_clock_of_24_hours() -> None:
    found = kitchen().weekend(clock="24h").with_plan(clock="24h").load("BR01", wrap_at=t("6:10")).the("wrap-window")
    assert found.sentence == "Load BR01 is wrapped on Sat at 06:10, after its window (05:00 to 06:00)."
