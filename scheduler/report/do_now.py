"""What has to be done now that the plan has changed, short enough to be read in a minute: a page and a text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.resources import files

from markupsafe import Markup

from scheduler.model.plan import Load, Loss, Plan
from scheduler.report.desk import Desk
from scheduler.report.guests import PRESSING, Guests
from scheduler.report.half_hour import SOON, HalfHour, Person
from scheduler.report.page import policy, render
from scheduler.report.what_happened import what_happened
from scheduler.report.words import (
    about_dollars,
    codes_text,
    count_text,
    list_text,
    pieces_text,
    wave_text,
    whole_dollars,
)
from scheduler.reshuffle.changed import Changed, Pair, changed
from scheduler.reshuffle.money import Money
from scheduler.reshuffle.state import State
from scheduler.trade.food_safety import DEFERS_SHORT

DO_NOW = "do-now.html"


@dataclass(frozen=True, slots=True)
class DoNow:
    """Context of the page."""

    title: str
    over: str
    happened: tuple[str, ...]
    until: str
    people: tuple[Person, ...]
    thrown: tuple[str, ...]
    guests: tuple[str, ...]
    on_the_pit: tuple[str, ...]
    """Why something cannot go on, and changes of what is on, old and new."""
    to_come: tuple[str, ...]
    """Changes of what is still to be loaded, and of shifts that have time."""
    unchanged: str
    money: tuple[str, ...]
    caution: str
    policy: str
    css: Markup


def do_now(state: State, new: Plan, sums: Money) -> DoNow:
    """What the page says of a new plan of a state."""
    return _Page(state, new, sums).context()


class _Page:
    def __init__(self, state: State, new: Plan, sums: Money) -> None:
        self.state = state
        self.desk = Desk(new, state.scenario)
        self.old = Desk(state.plan, state.scenario)
        self.new = self.desk.plan
        self.sums = sums
        self.change: Changed = changed(state, new)
        self.since: datetime = self.change.since

    def context(self) -> DoNow:
        css = files("scheduler.report").joinpath("templates", "do_now.css").read_text(encoding="utf-8")
        plan = self.state.plan
        pairs = self.change.loads
        begun = {b.code for b in self.state.past.begun}
        on = [p for p in pairs if (p.old is not None and p.old.code in begun) and p.new is not None]
        later = [p for p in pairs if p not in on and not (p.old is not None and p.old.code in begun)]
        guests = Guests(self.desk, self.change.waves, self.since)
        return DoNow(
            title=f"Plan {self.new.number} from {self.desk.moment(self.since)}",
            over=f"Throw plan {plan.number} away",
            happened=tuple(what_happened(self.state)),
            until=self.desk.clock(self.since + SOON),
            people=tuple(self.people()),
            thrown=tuple(self.thrown()),
            guests=tuple(guests.told()),
            on_the_pit=(*self.reasons(), *(self.line(pair) for pair in on)),
            to_come=(
                *self.calls(pressing=False),
                *guests.counted(),
                *(self.line(pair) for pair in later),
            ),
            unchanged=f"{self.change.unchanged:.0%} of what plan {plan.number} told from now on stands.",
            money=tuple(self.money()),
            caution=DEFERS_SHORT,
            policy=policy(css),
            css=Markup(css),
        )

    # do now --------------------------------------------------------------------------------------------------------

    def people(self) -> Iterator[Person]:
        """Whoever has something to do in the next half hour, and the calls that somebody has to make."""
        calls = tuple(self.calls(pressing=True))
        if calls:
            yield Person("By phone", calls)
        yield from HalfHour(self.desk, self.old, self.since).people()

    def calls(self, *, pressing: bool) -> Iterator[str]:
        """Who is to be called in or off: for shifts that start within half a day, or for those after it."""
        for shift in self.change.called:
            if (shift.starts_at < self.since + PRESSING) is pressing:
                hours = self.desk.near_span(shift.starts_at, shift.ends_at, self.since)
                yield f"Call {shift.person} in, {hours}."
        for shift in self.change.not_needed:
            if (shift.starts_at < self.since + PRESSING) is pressing:
                yield f"Tell {shift.person} not to come at {self.near(shift.starts_at)}."

    def near(self, moment: datetime) -> str:
        """A time, with its day if it is not today's."""
        return self.desk.near(moment, self.since)

    def thrown(self) -> Iterator[str]:
        """What cannot go on: what is thrown away, and what is still good but for nothing here."""
        for kind, said in (("written off", "Throw away {}."), ("left", "Chill {} by the rules.")):
            by_cut: dict[str, list[Loss]] = {}
            for loss in self.losses:
                if loss.kind == kind:
                    by_cut.setdefault(loss.cut, []).append(loss)
            if by_cut:
                yield said.format(list_text([self.lost(cut, some) for cut, some in by_cut.items()]))

    def reasons(self) -> Iterator[str]:
        """Why it cannot go on; a rule's code stays in the plan."""
        codes: dict[str, list[str]] = {}
        for loss in self.losses:
            codes.setdefault(re.split(r" \(|: ", loss.why)[0], []).append(loss.load)
        for why, some in codes.items():
            yield f"{codes_text(sorted(set(some)))}: {why}."

    @property
    def losses(self) -> tuple[Loss, ...]:
        """What cannot go on any more."""
        return self.new.losses[len(self.state.past.losses) :]

    def lost(self, cut: str, losses: list[Loss]) -> str:
        """What of a cut cannot go on: all that is in hand, or by load."""
        pieces = sum(x.pieces for x in losses)
        in_hand = sum(begun.pieces for begun in self.state.past.begun if begun.cut == cut)
        if pieces == in_hand > 1:
            return f"all {pieces_text(pieces, cut)}"
        return f"{pieces_text(pieces, cut)} ({self.of(losses)})"

    def of(self, losses: list[Loss]) -> str:
        """The loads of one cut that cannot go on, and how many pieces of those of which the rest can."""
        whole = [x.load for x in losses if x.pieces == self.old.by_code[x.load].pieces]
        parts = [f"{x.pieces} of {x.load}" if losses[1:] else f"of {x.load}" for x in losses if x.load not in whole]
        return ", ".join([codes_text(sorted(whole)), *parts] if whole else parts)

    # what changes ----------------------------------------------------------------------------------------------------

    def line(self, pair: Pair) -> str:
        """One load, old and new."""
        if pair.new is None:
            assert pair.old is not None
            return f"{pair.old.code}: {pieces_text(pair.old.pieces, pair.old.cut)} are not cooked."
        new = pair.new
        bits = [f"new: {self.whole(new)}"] if pair.old is None else list(self.bits(pair.old, new))
        return f"{new.code} ({pieces_text(new.pieces, new.cut)}): {'; '.join(bits)}."

    def whole(self, load: Load) -> str:
        """A load that nobody was told of."""
        wrap = "" if load.wrap_at is None else f", wrap {self.near(load.wrap_at)}"
        return f"load {self.near(load.load_at)} on {self.desk.smoker_place(load)}{wrap}"

    def bits(self, old: Load, new: Load) -> Iterator[str]:
        """What is said otherwise of a load."""
        if old.pieces != new.pieces:
            yield f"{new.pieces} now, {old.pieces} before" if new.code == old.code else f"parted from {old.code}"
        if (old.load_at, old.smoker, old.rack) != (new.load_at, new.smoker, new.rack):
            then = f"was {self.near(old.load_at)} on {self.old.smoker_place(old)}"
            yield f"load {self.near(new.load_at)} on {self.desk.smoker_place(new)} ({then})"
        for stop in new.stops:
            if stop.at >= self.since:
                where = self.desk.spot_words(stop.place, stop.rack)
                yield f"to the {where} at {self.near(stop.at)} (was {self.old.place_at(old, self.since)})"
        yield from self.wrap_bits(old, new)
        if old.wave != new.wave:
            yield f"for {wave_text(new.wave, self.new.clock)} (was {wave_text(old.wave, self.new.clock)})"
        if old.hold_place != new.hold_place and new.hold_place and new.load_at < self.since:
            yield f"held in {new.hold_place} (was {old.hold_place})"
        if abs(new.likely_done_at - old.likely_done_at) >= timedelta(minutes=15):
            yield f"likely done {self.near(new.likely_done_at)} (was {self.near(old.likely_done_at)})"

    def wrap_bits(self, old: Load, new: Load) -> Iterator[str]:
        """The wrap and where it goes then."""
        if old.wrap_at is None or new.wrap_at is None or new.wrap_at < self.since:
            return
        if old.wrap_at != new.wrap_at:
            yield f"wrap {self.near(new.wrap_at)} (was {self.near(old.wrap_at)})"
        if (old.finish_place, old.finish_rack) != (new.finish_place, new.finish_rack):
            yield f"then to the {self.desk.finish_place(new)} (was {self.old.finish_place(old)})"

    def money(self) -> Iterator[str]:
        """Lost against the old plan, and saved against doing nothing; between them the loss to a dollar, and its
        parts."""
        sums = self.sums
        yield f"Lost: {about_dollars(sums.lost)}"
        # What is left of the whole, so that the parts add up to it when all are rounded.
        rest = sum(sign * round(cents / 100) for sign, cents in ((1, sums.lost), (-1, sums.meat), (-1, sums.late)))
        parts = [f"plan {whole_dollars(rest * 100)}"]
        parts += [f"meat thrown away or left {whole_dollars(sums.meat)}"] if sums.meat else []
        parts += [f"served late {whole_dollars(sums.late)}"] if sums.late else []
        yield f"Against plan {self.state.plan.number}: {whole_dollars(sums.lost)}" + (
            f", of which {list_text(parts)}" if parts[1:] else ""
        )
        yield f"Saved against doing nothing: {about_dollars(sums.nothing)}"


def do_now_html(page: DoNow) -> str:
    """The page."""
    return str(render("do_now.html", page))


def do_now_text(page: DoNow, most: int = 12) -> str:
    """The same for the terminal; long lists are cut."""
    found = [page.over, page.title, *page.happened, "", f"DO NOW, until {page.until}"]
    for person in page.people:
        found += [f"  {person.name}", *(f"    {line}" for line in person.todo)]
    for head, lines in (
        ("CANNOT GO ON", page.thrown),
        ("TELL THE GUESTS", page.guests),
        ("ON THE PIT, CHANGED", page.on_the_pit),
        ("TO COME, CHANGED", page.to_come),
    ):
        if lines:
            shown = [f"  {line}" for line in lines[:most]]
            more = len(lines) - most
            found += ["", head, *shown, *([f"  and {count_text(more, 'more line')} in the page"] if more > 0 else [])]
    return "\n".join([*found, "", page.unchanged, *page.money, page.caution])
