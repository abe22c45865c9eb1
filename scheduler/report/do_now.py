"""What has to be done now that the plan has changed, short enough to be read in a minute: a page and a text."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.resources import files

from markupsafe import Markup

from scheduler.model.plan import Load, Loss, Plan
from scheduler.report.desk import Desk
from scheduler.report.page import policy, render
from scheduler.report.sentences import moved_to, say
from scheduler.report.task_rows import Row, task_rows
from scheduler.report.what_happened import what_happened
from scheduler.report.words import (
    about_dollars,
    bare_clock,
    codes_text,
    count_text,
    cut_text,
    list_text,
    on_the_board,
    pieces_text,
    sentence,
    unique,
    wave_text,
    whole_dollars,
)
from scheduler.reshuffle.changed import Changed, Pair, WaveChange, changed
from scheduler.reshuffle.money import Money
from scheduler.reshuffle.state import State
from scheduler.trade.food_safety import DEFERS_SHORT

SOON = timedelta(minutes=30)
PRESSING = timedelta(hours=12)
NOTICED = timedelta(minutes=10)
"""Guests are told of a wave that is at least so late; common practice, no source."""
FEW_SHARE = 0.2
"""Guests are not told of short or late pieces that are fewer than so much of their wave: the others sell first; common
practice, no source."""
QUARTER_MIN = 15
DO_NOW = "do-now.html"


@dataclass(frozen=True, slots=True)
class Person:
    """One person's next half hour."""

    name: str
    todo: tuple[str, ...]


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
    """Changes of what is on, old and new."""
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
        return DoNow(
            title=f"Plan {self.new.number} from {self.desk.moment(self.since)}",
            over=f"Throw the sheets of plan {plan.number} away",
            happened=tuple(what_happened(self.state)),
            until=self.desk.clock(self.since + SOON),
            people=tuple(self.people()),
            thrown=tuple(self.thrown()),
            guests=tuple(self.guests(pressing=True)),
            on_the_pit=tuple(self.line(pair) for pair in on),
            to_come=(
                *self.calls(pressing=False),
                *(f"Tell the guests, {line}" for line in self.guests(pressing=False)),
                *self.but_few(),
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
            yield Person("Whoever has the phone", calls)
        soon = [t for t in self.new.tasks if self.since <= t.at < self.since + SOON]
        alike: dict[tuple[str, ...], list[str]] = {}
        for name in sorted({task.person for task in soon}):
            rows = task_rows(self.desk, [task for task in soon if task.person == name])
            alike.setdefault(tuple(self.todo(rows)), []).append(name)
        for todo, names in alike.items():
            yield Person(list_text(names), todo)

    def todo(self, rows: Sequence[Row]) -> Iterator[str]:
        """One person's rows; all slicing of the half hour, which goes on to and fro, in one, and so all moves to one
        place."""
        together: dict[Hashable, list[Row]] = {}
        for row in rows:
            one = {"slice": "slice", "move": moved_to(self.desk, row)}.get(row.kind, row)
            together.setdefault(one, []).append(row)
        for alike in together.values():
            yield f"{bare_clock(self.desk.local(alike[0].at), self.new.clock)} {self.said(alike)}"

    def said(self, alike: list[Row]) -> str:
        """One line for rows that are told as one."""
        first = alike[0]
        if first.kind == "slice":
            cuts = unique(cut_text(self.desk.by_code[code].cut, 2) for row in alike for code in row.loads)
            return sentence(f"slice and cut up {list_text(cuts)}")
        if len(alike) > 1:
            return sentence(f"move {list_text(list(self.moved(alike)))}{moved_to(self.desk, first)}")
        return say(self.desk, first)[0]

    def moved(self, rows: list[Row]) -> Iterator[str]:
        """What is moved, by cut."""
        by_cut: dict[str, list[Row]] = {}
        for row in rows:
            by_cut.setdefault(self.desk.by_code[row.loads[0]].cut, []).append(row)
        for cut, some in by_cut.items():
            codes = codes_text(sorted(row.loads[0] for row in some))
            yield f"{pieces_text(sum(row.pieces for row in some), cut)} ({codes})"

    def calls(self, *, pressing: bool) -> Iterator[str]:
        """Who is to be called in or off: for shifts that start within half a day, or for those after it."""
        for shift in self.change.called:
            if (shift.starts_at < self.since + PRESSING) is pressing:
                yield f"Call {shift.person} in: {shift.pattern} shift, {self.near(shift.starts_at)}."
        for shift in self.change.not_needed:
            if (shift.starts_at < self.since + PRESSING) is pressing:
                yield f"Tell {shift.person} not to come, {self.near(shift.starts_at)}."

    def near(self, moment: datetime) -> str:
        """A time, with its day if it is not today's."""
        return self.desk.near(moment, self.since)

    def thrown(self) -> Iterator[str]:
        """What cannot go on, by reason and cut; a rule's code stays in the plan."""
        known = len(self.state.past.losses)
        reasons: dict[tuple[str, str], dict[str, list[Loss]]] = {}
        for loss in self.new.losses[known:]:
            verb = "Throw away" if loss.kind == "written off" else "Take off"
            by_cut = reasons.setdefault((verb, loss.why.partition(" (")[0]), {})
            by_cut.setdefault(loss.cut, []).append(loss)
        for (verb, why), by_cut in reasons.items():
            yield f"{verb} {list_text([self.lost(cut, some) for cut, some in by_cut.items()])}: {why}."

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

    def guests(self, *, pressing: bool) -> Iterator[str]:
        """What to tell the guests, wave by wave: of waves within half a day, or of those after it."""
        for head, waves in self.by_wave(pressing=pressing):
            gone = [on_the_board(wave.cut) for wave in waves if wave.short > wave.short_before and not self.left(wave)]
            said = [f"no {list_text(gone, 'or')}"] if gone else []
            said += [line for wave in waves for line in self.of_wave(wave)]
            if said:
                yield f"{head}: {'; '.join(said)}."

    def but_few(self) -> Iterator[str]:
        """What is short or late that guests need not be told of."""
        for head, waves in (*self.by_wave(pressing=True), *self.by_wave(pressing=False)):
            said = [line for wave in waves if self.few(wave) for line in self.worse(wave, self.late(wave))]
            if said:
                yield f"Short or late, but few, {head}: {'; '.join(said)}."

    def by_wave(self, *, pressing: bool) -> Iterator[tuple[str, list[WaveChange]]]:
        """Waves within half a day, or those after it, as they are called; of today the day is not said, as this is
        read aloud."""
        found: dict[str, list[WaveChange]] = {}
        for wave in self.change.waves:
            if (wave.ready_by_at < self.since + PRESSING) is pressing:
                found.setdefault(wave.wave, []).append(wave)
        for name, waves in found.items():
            head = wave_text(name, self.new.clock).removeprefix(f"{self.desk.local(self.since):%a} ")
            yield sentence(head).rstrip("."), waves

    def of_wave(self, wave: WaveChange) -> Iterator[str]:
        """What guests are told of one cut of a wave that still has any."""
        if not self.few(wave):
            few_late = wave.late_pieces < FEW_SHARE * self.left(wave)
            yield from self.worse(wave, "" if few_late else self.late(wave))

    def worse(self, wave: WaveChange, late: str) -> Iterator[str]:
        """What got worse of one cut of a wave that still has any, and how late it comes."""
        more, left = wave.short - wave.short_before, self.left(wave)
        if left and more > 0:
            some = f"{wave.late_pieces} " if wave.late_pieces < left else ""
            yield f"{left} of {pieces_text(left + more, wave.cut)}{f', {some}{late}' if late else ''}"
        elif left and late:
            some = f"{wave.late_pieces} of " if wave.late_pieces < left else ""
            yield f"{some}{pieces_text(left, wave.cut)} {late}"

    def few(self, wave: WaveChange) -> bool:
        """True if so few of a wave are short or late that the others sell first."""
        more, late = max(0, wave.short - wave.short_before), wave.late_pieces if self.late(wave) else 0
        return more + late < FEW_SHARE * (self.left(wave) + more)

    def late(self, wave: WaveChange) -> str:
        """By when the last piece of a wave may be ready, to the next quarter of an hour; empty where nobody would
        notice."""
        if not wave.late_pieces or wave.late_until is None or wave.late_until < wave.ready_by_at + NOTICED:
            return ""
        whole = wave.late_until + timedelta(minutes=-wave.late_until.minute % QUARTER_MIN)
        return f"only by {self.near(whole)}"

    def left(self, wave: WaveChange) -> int:
        """Pieces that a wave still has."""
        return sum(x.pieces for x in self.new.loads if (x.cut, x.wave) == (wave.cut, wave.wave))

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
