"""Where everything is at a moment, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.model.past import Begun, Spot
from scheduler.report.desk import Desk
from scheduler.report.words import clock_text, list_text, moment_text, pieces_text
from scheduler.reshuffle.crew_past import doing_now
from scheduler.reshuffle.state import State
from scheduler.trade.food_safety import DEFERS, RULES

VERBS = {
    "light": "lights",
    "tend": "tends",
    "clean": "cleans out",
    "load": "loads",
    "wrap": "wraps",
    "pull": "probes",
    "move": "moves",
    "slice": "slices",
    "counter": "counter",
}


class Status:
    """One state in words."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.desk = Desk(state.plan, state.scenario)
        self.style = state.plan.clock

    def at(self, minute: int) -> str:
        """A minute as a time of day, with the day where it is not today's."""
        moment = self.state.clock.moment(minute)
        same = moment.date() == self.state.clock.moment(self.state.now_min).date()
        return clock_text(moment, self.style) if same else moment_text(moment, self.style)

    def where(self, spot: Spot) -> str:
        """A rack or an oven."""
        return self.desk.spot_words(spot.place, spot.rack)

    def lines(self) -> list[str]:
        """The whole status."""
        now = moment_text(self.state.clock.moment(self.state.now_min), self.style)
        on = [begun for begun in self.state.past.begun if not begun.done]
        found = [f"{self.state.scenario.weekend.name}, {now}, by plan {self.state.plan.number}", ""]
        found += [*self.fires(), ""]
        found += ["On:"] if on else ["Nothing is on."]
        for begun in sorted(on, key=lambda b: (b.spot.place, b.spot.rack or "", b.load_min)):
            found.append("  " + self.load_line(begun))
        found += self.cold(on)
        found += ["", *self.people()]
        ready = [b for b in self.state.past.begun if b.done and not self.served(b)]
        if ready:
            found += ["", "Done, resting or held:"]
            found += [f"  {b.code}: {pieces_text(b.pieces, b.cut)}, for {b.wave}" for b in ready]
        lost = [f"  {x.load}: {pieces_text(x.pieces, x.cut)}, {x.why}" for x in self.state.past.losses]
        found += ["", "Written off or left:", *lost] if lost else []
        if self.state.facts.sold:
            sold = [f"{portions} portions of {cut}" for cut, portions in self.state.facts.sold.items()]
            found += ["", f"Sold so far: {list_text(sold)}."]
        return [*found, *(["", *self.state.notes] if self.state.notes else [])]

    def served(self, begun: Begun) -> bool:
        """True if its serving is over."""
        load = self.desk.by_code.get(begun.code)
        return load is not None and self.state.clock.minute(load.served_until_at) <= self.state.now_min

    def fires(self) -> Iterator[str]:
        """What burns, and what is out of use."""
        for fire in self.state.past.fires:
            if fire.out_min is None:
                held = fire.setpoints[-1][1]
                yield f"{self.desk.fire_words(fire.firebox)}: burning at {held} °F, lit {self.at(fire.lit_min)}"
        for outage in self.state.facts.outages:
            if outage.from_min <= self.state.now_min and (outage.until_min or 10**9) > self.state.now_min:
                until = "" if outage.until_min is None else f", back {self.at(outage.until_min)}"
                yield f"{outage.place}: OUT OF USE since {self.at(outage.from_min)}{until}"

    def load_line(self, begun: Begun) -> str:
        """One load: what, where, since when, when done."""
        since = begun.load_min if not begun.stops else begun.stops[-1].at_min
        text = f"{begun.code}: {pieces_text(begun.pieces, begun.cut)}, {self.where(begun.spot)}"
        text += f", since {self.at(since)}; "
        early, likely, late = begun.spread
        if begun.window is not None:
            window = f"{self.at(begun.window[0])} to {self.at(begun.window[1])}"
            return f"{text}wrap {window}, then done in {likely // 60} h {likely % 60:02d} likely"
        return f"{text}done {self.at(early)}, likely {self.at(likely)}, late {self.at(late)}"

    def cold(self, on: list[Begun]) -> Iterator[str]:
        """What is in a dead smoker, and by when it must leave it."""
        dead = [begun for begun in on if begun.leave_by_min is not None]
        if not dead:
            return
        yield ""
        yield "No fire under it. Move it, finish it in an oven, or write it off:"
        for begun in sorted(dead, key=lambda b: b.act_by_min or 0):
            act, leave = begun.act_by_min or 0, begun.leave_by_min or 0
            both = "" if act == leave else f" move it by {self.at(act)},"
            yield f"  {begun.code}:{both} out of there by {self.at(leave)} or thrown away ({begun.rule})"
        for code in sorted({begun.rule for begun in dead}):
            yield f"  {code}: {RULES[code].sentence}"
        yield f"  {DEFERS}"

    def people(self) -> Iterator[str]:
        """What each person on shift is doing."""
        gone = {a.person for a in self.state.facts.absences if (a.until_min or 10**9) > self.state.now_min}
        for name, task in doing_now(self.state.plan, self.state.clock, self.state.now_min).items():
            if name in gone:
                continue
            if task is None:
                yield f"{name}: nothing for the next hour"
                continue
            what = f"{VERBS[task.kind]} {list_text(task.loads) if task.loads else task.place}".strip()
            start = self.state.clock.minute(task.at)
            yield f"{name}: {what}" if start <= self.state.now_min else f"{name}: {what} at {self.at(start)}"
        for name in sorted(gone):
            yield f"{name}: NOT HERE"


def status_text(state: State) -> str:
    """The status as text."""
    return "\n".join(Status(state).lines())
