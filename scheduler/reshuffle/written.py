"""From a candidate to the plan that the crew gets: the past as it was, then what changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.audit import price
from scheduler.books import scenario_hash
from scheduler.model.past import Begun, Running
from scheduler.model.plan import Fire, Load, Loss, Plan, Setpoint, Shift, Short, Stop, Task
from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate
from scheduler.reshuffle.price import matched
from scheduler.reshuffle.work_ahead import Ahead
from scheduler.solve.assemble import NOTHING, load_of, merged
from scheduler.solve.board import Board
from scheduler.solve.frame import Burn
from scheduler.solve.give_way import shared
from scheduler.solve.people import OnShift, Sheet, share_out
from scheduler.solve.pinned import WayOn
from scheduler.solve.progress import certificate
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.work import Work

PRESENCE = (frozenset({"tend", "pull"}), frozenset({"slice"}), frozenset({"counter"}))
"""Work that cannot be done while those who should do it are missing and nobody else can be there yet."""


@dataclass(frozen=True, slots=True)
class Written:
    """A plan, and the steps at which its work could not be shared out."""

    plan: Plan
    overfull: tuple[int, ...]


def written(basis: Basis, candidate: Candidate, number: int, seconds: float = 0.0, seed: int = 0) -> Written:
    """The plan of a candidate."""
    return _Writer(basis, candidate, number).write(seconds, seed)


class _Writer:
    def __init__(self, basis: Basis, candidate: Candidate, number: int) -> None:
        self.basis = basis
        self.board: Board = candidate.board
        self.candidate = candidate
        self.number = number
        self.grid = candidate.board.grid
        self.old = basis.state.plan
        self.past = basis.state.past
        self.at = basis.state.clock.moment
        self.used = Counter[str]()
        gone = [loss.load for loss in (*self.old.losses, *self.past.losses)]
        for code in (*(load.code for load in self.old.loads), *gone):
            letters = code.rstrip("0123456789")
            self.used[letters] = max(self.used[letters], int(code[len(letters) :]))

    def write(self, seconds: float, seed: int) -> Written:
        state = self.basis.state
        loads = tuple(sorted((*self.begun(), *self.coming()), key=lambda load: (load.load_at.timestamp(), load.code)))
        fires = tuple(self.fires())
        crew = self.crew()
        work = Ahead(self.basis, self.grid).work(loads, fires)
        sheet = self.shared(work, crew, {load.code: load for load in loads})
        codes = {load.code for load in loads}
        plan = self.old.model_copy(
            update={
                "number": self.number,
                "scenario_hash": scenario_hash(state.scenario),
                "loads": loads,
                "fires": fires,
                "shifts": tuple(member.shift for member in crew),
                "tasks": (*_known(self.past.tasks, codes), *sheet.tasks),
                "shorts": tuple(self.shorts(loads)),
                "losses": (*self.past.losses, *self.losses()),
                "reliefs": (),
                "cost": NOTHING,
                "certificate": certificate(0, None, self.grid.step_min, seconds, "time", seed),
            }
        )
        return Written(plan.model_copy(update={"cost": price(plan, state.scenario)}), sheet.overfull)

    def shared(self, work: list[list[Work]], crew: list[OnShift], loads: dict[str, Load]) -> Sheet:
        """The work shared out; before help comes, without what nobody is there for."""
        sheet = shared(self.grid, work, crew, loads, self.basis.step)
        for kinds in PRESENCE:
            alone = [step for step in sheet.overfull if step < self.basis.pinned.helped]
            if alone:
                for step in alone:
                    work[step] = [todo for todo in work[step] if todo.kind not in kinds]
                sheet = share_out(self.grid, work, crew)
        return sheet

    # loads ---------------------------------------------------------------------------------------------------------

    def new_code(self, letters: str) -> str:
        """The next free code."""
        self.used[letters] += 1
        return f"{letters}{self.used[letters]:02d}"

    def begun(self) -> Iterator[Load]:
        """What has begun, by its way on; what is served already as it was."""
        by_code: dict[str, list[WayOn]] = {}
        for way in self.candidate.chosen.ways:
            by_code.setdefault(way.code, []).append(way)
        open_codes = {begun.code for begun in self.basis.open_begun()}
        for begun in self.past.begun:
            was = self.old.load(begun.code)
            if begun.code not in open_codes:
                yield self.as_it_was(was, begun)
                continue
            parts = sorted(by_code.get(begun.code, ()), key=lambda way: -way.pieces)
            for i, way in enumerate(parts):
                code = begun.code if i == 0 else self.new_code(begun.code.rstrip("0123456789"))
                root = was.part_of if i == 0 else begun.code
                yield self.on_its_way(self.as_it_was(was, begun), begun, way, code, root)

    def as_it_was(self, was: Load, begun: Begun) -> Load:
        """A load with the past as logged."""
        early, likely, late = begun.spread
        rest_min = self.basis.state.scenario.menu.cut(begun.cut).rest_min
        update: dict[str, object] = {
            "load_at": self.at(begun.load_min),
            "pieces": begun.pieces,
            "smoker": begun.first.place,
            "rack": begun.first.rack or was.rack,
            "stops": tuple(Stop(at=self.at(s.at_min), place=s.spot.place, rack=s.spot.rack) for s in begun.stops),
            "hold_place": begun.hold_place,
        }
        if begun.wrap_min is not None and begun.finish is not None:
            update |= {
                "wrap_at": self.at(begun.wrap_min),
                "finish_place": begun.finish.place,
                "finish_rack": begun.finish.rack,
            }
        if was.wrap_at is None:
            update |= {"finish_place": begun.first.place, "finish_rack": begun.first.rack}
        if not begun.waits_for_wrap:
            update |= {
                "early_done_at": self.at(early),
                "likely_done_at": self.at(likely),
                "late_done_at": self.at(late),
                "hold_from_at": self.at(early + rest_min),
            }
        return was.model_copy(update=update)

    def on_its_way(self, was: Load, begun: Begun, way: WayOn, code: str, root: str) -> Load:
        """The same with what comes next."""
        grid, spots = self.grid, self.board.spots
        demand = grid.demands[way.demand]
        cut = grid.streams[way.stream].cut
        update: dict[str, object] = {
            "code": code,
            "part_of": root,
            "pieces": way.pieces,
            "wave": demand.wave,
            "early_done_at": self.at(way.early_min),
            "likely_done_at": self.at(way.likely_min),
            "late_done_at": self.at(way.late_min),
            "hold_from_at": self.at(way.early_min + cut.rest_min),
            "rest_place": grid.rest[way.rest].name if way.rest >= 0 else None,
            "hold_place": grid.hold[way.hold].name if way.hold >= 0 else None,
            "ready_by_at": demand.ready_by_at,
            "served_until_at": demand.served_until_at,
        }
        if way.stop_step is not None:
            stay = next(stay for stay in way.stays if stay.first == way.stop_step)
            spot = spots[stay.spot]
            stop = Stop(at=self.at(way.stop_step * grid.step_min), place=grid.places[spot.place].name, rack=spot.rack)
            update["stops"] = (*was.stops, stop)
        if way.wrap_step is not None:
            end = spots[way.stays[-1].spot]
            update |= {
                "wrap_at": self.at(way.wrap_step * grid.step_min),
                "finish_place": grid.places[end.place].name,
                "finish_rack": end.rack,
            }
        return was.model_copy(update=update)

    def coming(self) -> Iterator[Load]:
        """What is still to come; a load that is as it was keeps its code, and so does what it became."""
        pairs = matched(self.basis.old, merged(self.board.placed))
        for code, load in pairs:
            if load is not None:
                letters = self.grid.streams[load.stream].cut.code
                yield load_of(self.board, load, code or self.new_code(letters))

    def losses(self) -> Iterator[Loss]:
        """What cannot go on, with the reason."""
        for lost in self.candidate.chosen.lost:
            at = self.at(self.basis.state.from_min)
            code, cut = lost.begun.code, lost.begun.cut
            yield Loss(load=code, cut=cut, pieces=lost.pieces, at=at, kind=lost.kind, why=lost.why)

    def shorts(self, loads: tuple[Load, ...]) -> Iterator[Short]:
        """What is not made of each wave, as the whole weekend asks for it."""
        made = Counter((load.cut, load.wave) for load in loads for _ in range(load.pieces))
        missing = self.basis.state.missing
        told = {(s.cut, s.wave): s.why for s in self.old.shorts}
        for demand in self.basis.state.scenario.weekend.demands():
            short = demand.pieces - made[demand.cut, demand.wave]
            if short > 0:
                why = told.get((demand.cut, demand.wave), "given up to save more elsewhere")
                why = "fewer pieces were delivered" if missing.get(demand.cut) else why
                yield Short(cut=demand.cut, wave=demand.wave, pieces=short, why=why)

    # fires ---------------------------------------------------------------------------------------------------------

    def fires(self) -> Iterator[Fire]:
        """The burns of the past to the end that they now have, and those to come."""
        burns = [burn for burn in self.board.frame.burns(self.grid)]
        step = self.basis.step
        found: list[Fire] = []
        for past in self.past.fires:
            box = self.grid.scenario.site.firebox(past.firebox)
            ready = past.lit_min + box.warm_up_min
            out = past.out_min
            held = list(past.setpoints)
            if out is None:
                burn = self._burn_of(burns, past.firebox)
                out = max(self.basis.state.from_min, ready if burn is None else burn.out * self.grid.step_min)
                for k, f in () if burn is None else burn.setpoints:
                    if k >= step and f != held[-1][1]:
                        held.append((k * self.grid.step_min, f))
            setpoints = tuple(Setpoint(from_at=self.at(minute), setpoint_f=f) for minute, f in held)
            found.append(
                Fire(
                    firebox=box.name,
                    lit_at=self.at(past.lit_min),
                    ready_at=self.at(ready),
                    out_at=self.at(out),
                    setpoints=setpoints,
                )
            )
        for burn in burns:
            if burn.lit >= step:
                found.append(self._new_fire(burn))
        yield from sorted(found, key=lambda fire: (fire.lit_at.timestamp(), fire.firebox))

    def _burn_of(self, burns: list[Burn], firebox: str) -> Burn | None:
        """The burn on the board that a fire of the past goes on as."""
        names = [box.name for box in self.grid.fireboxes]
        mine = [b for b in burns if names[b.firebox] == firebox and b.lit < self.basis.step <= b.out]
        return mine[-1] if mine else None

    def _new_fire(self, burn: Burn) -> Fire:
        grid = self.grid
        box = grid.fireboxes[burn.firebox]
        ready = burn.lit * grid.step_min + box.warm_up_min
        return Fire(
            firebox=box.name,
            lit_at=self.at(burn.lit * grid.step_min),
            ready_at=self.at(ready),
            out_at=self.at(burn.out * grid.step_min),
            setpoints=tuple(
                Setpoint(from_at=self.at(k * grid.step_min if i else ready), setpoint_f=f)
                for i, (k, f) in enumerate(burn.setpoints)
            ),
        )

    # people --------------------------------------------------------------------------------------------------------

    def crew(self) -> list[OnShift]:
        """Shifts that run, those that stay as they were by their codes, and new ones."""
        codes = {(s.person, s.pattern, self.basis.state.clock.minute(s.ends_at)): s.code for s in self.old.shifts}
        numbers = [int(s.code[1:]) for s in self.old.shifts]
        running = {run.code: run for run in self.past.shifts}
        chosen = sorted(self.board.frame.shifts, key=lambda o: (o.start_min, o.end_min, o.pattern.name, o.person.name))
        found: list[OnShift] = []
        next_number = max(numbers, default=0)
        for option in chosen:
            code = self._code_of(option, running, codes)
            if code is None:
                next_number += 1
                code = f"S{next_number}"
            found.append(OnShift(option, self._shift(option, code)))
        return found

    def _code_of(
        self, option: ShiftOption, running: dict[str, Running], codes: dict[tuple[str, str, int], str]
    ) -> str | None:
        if option in self.basis.pinned.running:
            i = self.basis.pinned.running.index(option)
            return self.past.shifts[i].code
        code = codes.get((option.person.name, option.pattern.name, option.end_min))
        return None if code in running else code

    def _shift(self, option: ShiftOption, code: str) -> Shift:
        return Shift(
            code=code,
            person=option.person.name,
            pattern=option.pattern.name,
            starts_at=self.at(option.start_min),
            ends_at=self.at(option.end_min),
        )


def _known(tasks: tuple[Task, ...], codes: set[str]) -> Iterator[Task]:
    """Work of the past, without the codes of loads that are gone."""
    for task in tasks:
        loads = tuple(code for code in task.loads if code in codes)
        yield task if loads == task.loads else task.model_copy(update={"loads": loads})
