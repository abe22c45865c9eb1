"""What a plan's raw meat becomes: trimmed, cooked and portions, as ranges, beside what the menu counts on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.model.menu import Cut
from scheduler.model.scenario import Scenario
from scheduler.trade.buying import Need, Triple
from scheduler.trade.known import known_as
from scheduler.trade.yields import CUT_YIELD, tallow_lb, yield_chain


@dataclass(frozen=True, slots=True)
class CutPortions:
    """One cut of a plan on its way to the plate, pounds low / likely / high. Fat has no portions but the menu's."""

    cut: str
    raw_lb: float
    trimmed_lb: Triple
    cooked_lb: Triple
    portions: Triple | None
    menu_portions: float

    @property
    def note(self) -> str:
        """Why the menu's portions are not likely, or nothing."""
        if self.portions is None or self.portions[0] <= self.menu_portions <= self.portions[2]:
            return ""
        side = "more" if self.menu_portions > self.portions[2] else "fewer"
        low, _, high = self.portions
        return (
            f"{self.cut}: the menu counts on {self.menu_portions:,.0f} portions, {side} than the {low:,.0f} to "
            f"{high:,.0f} that {self.raw_lb:,.0f} lb usually give"
        )


def portions_of(needs: Iterable[Need], scenario: Scenario) -> tuple[CutPortions, ...]:
    """All cuts of a plan that the yield tables know, and fat. KeyError on a cut that the menu does not have."""
    together: dict[str, int] = {}
    for need in needs:
        together[need.cut] = together.get(need.cut, 0) + need.pieces
    found = (_portions(scenario.menu.cut(name), count, scenario) for name, count in sorted(together.items()))
    return tuple(portions for portions in found if portions is not None)


def _portions(cut: Cut, pieces: int, scenario: Scenario) -> CutPortions | None:
    weight = scenario.weight_lb(cut)
    if cut.family == "fat":
        raw = pieces * weight
        return CutPortions(cut.name, raw, (raw, raw, raw), tallow_lb(raw), None, pieces * cut.portions)
    known = known_as(cut)
    if known not in CUT_YIELD:
        return None
    chain = yield_chain(CUT_YIELD[known], pieces, weight)
    return CutPortions(cut.name, chain.raw_lb, chain.trimmed_lb, chain.cooked_lb, chain.portions, pieces * cut.portions)
