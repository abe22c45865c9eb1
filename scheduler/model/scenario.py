"""A scenario: kitchen, menu, crew and weekend together."""

from __future__ import annotations

from scheduler.model.base import Frozen
from scheduler.model.crew import Crew
from scheduler.model.menu import Cut, Menu
from scheduler.model.site import Site
from scheduler.model.weekend import Weekend


class Scenario(Frozen):
    """All that a plan depends on. `scheduler.books` reads it from a folder and checks names across the files."""

    site: Site
    menu: Menu
    crew: Crew
    weekend: Weekend

    def weight_lb(self, cut: Cut) -> float:
        """Raw weight of one piece of a cut this weekend, lb."""
        return self.weekend.weights_lb.get(cut.name, cut.weight_lb)
