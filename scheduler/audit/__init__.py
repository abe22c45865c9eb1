"""The audit of a plan, written without the solver: what it breaks, and what it costs.

    audit(plan, scenario) -> breaches, none for a plan that may be printed
    price(plan, scenario) -> its cost by part

`rules.RULES` is the table of contents. For a plan that was changed on the way, `past` says what is fixed: rules are
asked from that moment on, and `from_on.FROM_ON` beside them.
"""

from __future__ import annotations

from scheduler.audit.breach import Breach
from scheduler.audit.cost import price
from scheduler.audit.from_on import FROM_ON
from scheduler.audit.reading import look
from scheduler.audit.rules import RULES
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

__all__ = ["FROM_ON", "RULES", "Breach", "audit", "price"]


def audit(plan: Plan, scenario: Scenario, past: Past | None = None) -> tuple[Breach, ...]:
    """Every breach of every rule, in the order of `RULES`. Never raises on a well-formed plan of a sound scenario."""
    view = look(plan, scenario, past)
    found = tuple(breach for rule in RULES.values() for breach in rule(view))
    if past is None:
        return found
    ahead = tuple(breach for breach in found if breach.at is None or view.minute(breach.at) >= past.from_min)
    return ahead + tuple(breach for rule in FROM_ON.values() for breach in rule(view, past))
