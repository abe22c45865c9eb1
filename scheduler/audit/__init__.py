"""The audit of a plan, written without the solver: what it breaks, and what it costs.

    audit(plan, scenario) -> breaches, none for a plan that may be printed
    price(plan, scenario) -> its cost by part

`rules.RULES` is the table of contents.
"""

from __future__ import annotations

from scheduler.audit.breach import Breach
from scheduler.audit.cost import price
from scheduler.audit.reading import look
from scheduler.audit.rules import RULES
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

__all__ = ["RULES", "Breach", "audit", "price"]


def audit(plan: Plan, scenario: Scenario) -> tuple[Breach, ...]:
    """Every breach of every rule, in the order of `RULES`. Never raises on a well-formed plan of a sound scenario."""
    view = look(plan, scenario)
    return tuple(breach for rule in RULES.values() for breach in rule(view))
