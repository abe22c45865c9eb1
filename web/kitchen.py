"""What all pages share: the data, the clock, the line of searches, and plans made ready to be shown."""

from __future__ import annotations

import re
from datetime import datetime
from functools import lru_cache
from typing import Any

from scheduler.audit import audit
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.report.desk import Desk
from scheduler.report.words import moment_text, money_text
from web.live import Line
from web.settings import Settings
from web.store.database import Database
from web.store.jobs import Job
from web.store.plans import KeptPlan, keep_plan, kept_plan, number_in_force, put_in_force
from web.store.scenarios import Version, latest_version, take_over
from web.store.uploads import do_now_key, keep_answer

_NUMBERED = re.compile(r"^Plan \d+")


class Kitchen:
    """One kitchen with its weekend. Made once for a server."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.database = Database(settings.address)
        take_over(self.database, settings)
        self.line = Line(self.database, settings, self._finish)
        self.desk = lru_cache(maxsize=8)(self._desk)

    def start(self) -> None:
        """Take up the line of searches."""
        self.line.start()

    def close(self) -> None:
        """Let go."""
        self.line.close()
        self.database.close()

    def weekend(self) -> Version:
        """The weekend as it was last saved."""
        return latest_version(self.database)

    def now(self, scenario: Scenario) -> datetime:
        """What the clock shows in the kitchen."""
        return self.settings.now().astimezone(scenario.weekend.zone)

    def moment(self, at: datetime, scenario: Scenario) -> str:
        """A time in words."""
        return moment_text(at.astimezone(scenario.weekend.zone), scenario.weekend.clock)

    def plan(self, number: int) -> KeptPlan:
        """A plan. LookupError if there is none of that number."""
        return kept_plan(self.database, number)

    def in_force(self) -> KeptPlan | None:
        """The plan by which the crew works."""
        number = number_in_force(self.database)
        return None if number is None else self.plan(number)

    def _desk(self, number: int) -> Desk:
        kept = self.plan(number)
        return Desk(kept.plan, kept.scenario)

    def keep(
        self,
        plan: Plan,
        scenario: Scenario,
        *,
        kind: str,
        by: str,
        note: str = "",
        parent: int | None = None,
        past: Past | None = None,
        pins: tuple[str, ...] = (),
        first: bool = True,
    ) -> int:
        """Keep a plan; its number. The very first one without a breach is in force at once."""
        breaches = len(audit(plan, scenario, past))
        at = self.settings.now()
        nothing_yet = number_in_force(self.database) is None
        with self.database.writing() as connection:
            number = keep_plan(
                connection,
                plan,
                scenario,
                kind=kind,
                by=by,
                at=at,
                note=note,
                parent=parent,
                breaches=breaches,
                past=past,
                pins=pins,
            )
            if first and nothing_yet and not breaches:
                put_in_force(connection, number, by=by, at=at)
        return number

    def _finish(self, job: Job, answer: dict[str, Any]) -> tuple[int | None, str]:
        """Keep what a search found."""
        if job.kind == "forecast":
            keep_answer(self.database, "forecast", answer, self.settings.now())
            return None, "The forecast is ready."
        if answer.get("same"):
            return None, "Nothing that was written down asks for another plan: go on as planned."
        plan = Plan.model_validate_json(answer["plan"])
        scenario = Scenario.model_validate_json(answer.get("scenario") or job.task["scenario"])
        past = Past.model_validate_json(answer["past"]) if answer.get("past") else None
        kinds = {"plan": "searched", "around": "replanned", "reshuffle": "reshuffled"}
        number = self.keep(
            plan,
            scenario,
            kind=kinds[job.kind],
            by=job.asked_by,
            note=job.task.get("note", ""),
            parent=job.task.get("parent"),
            past=past,
            pins=tuple(job.task.get("pins", ())),
        )
        if answer.get("do_now"):
            words = answer["do_now"] | {"title": f"Plan {number}{_NUMBERED.sub('', answer['do_now']['title'])}"}
            keep_answer(self.database, do_now_key(number), words, self.settings.now())
        return number, f"Plan {number}: cost {money_text(plan.cost.total)}."
