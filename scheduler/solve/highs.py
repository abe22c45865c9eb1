"""The one seam to HiGHS, a general-purpose MILP solver: arrays in, answer out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np

from scheduler.solve.milp import INF, Floats, Milp


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of a run."""

    x: Floats | None
    """Best point; None if none was found."""
    cost: float
    """Of `x`; inf if there is none."""
    bound: float
    """No point costs less; -inf if none is known."""
    proven: bool
    """True if the gap is closed or the program has no point."""
    reduced: Floats | None = None
    """Of a relaxation: what a unit of each column would cost beyond what it is worth, where none is used."""


@dataclass(frozen=True, slots=True)
class Effort:
    """When a run may stop. Repeatable runs give nodes, not seconds."""

    seconds: float = INF
    nodes: int | None = None
    gap: float = 1e-4
    heuristics: float = 0.05
    """Share of the effort that HiGHS gives to its own search for points; 0 is none at all."""
    interior: bool = False
    """The first relaxation by interior point, which is sooner where the program is large and nearly whole."""


class _Silent(highspy.Highs):
    """HiGHS prints its name when callbacks are set up, which would spoil what the program itself prints."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]

    def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
        """Be silent first."""
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]


Improved = Callable[[Floats, float], None]
"""Called on a foreign thread with each better point and its cost."""
Progress = Callable[[float], bool]
"""Called on a foreign thread with the bound, now and then; True stops the run."""


def solve(
    milp: Milp,
    effort: Effort,
    *,
    lower: Floats | None = None,
    upper: Floats | None = None,
    start: tuple[list[int], list[float]] | None = None,
    relax: bool = False,
    cutoff: float | None = None,
    improved: Improved | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Run HiGHS on one thread. `lower`/`upper` replace the column bounds; `relax` drops integrality;
    `start` gives values of some columns, the integer ones at least."""
    h = _loaded(milp, effort, lower, upper, relax)
    if cutoff is not None:
        h.setOptionValue("objective_bound", cutoff)
    if start is not None and not relax:
        h.setSolution(len(start[0]), np.array(start[0], dtype=np.int32), np.array(start[1]))
    if relax:
        # Half the time of the simplex method on the models here; the crossover makes most columns 0, which is wanted.
        h.setOptionValue("solver", "ipm")
        h.setOptionValue("run_crossover", "on")
        _heed(h, progress)
    else:
        _listen(h, improved, progress)
    h.run()
    return _answer(h, relax)


class Relaxed:
    """The linear relaxation of a program, solved again from where it stands with some columns held at other values."""

    def __init__(self, milp: Milp) -> None:
        self._highs = _loaded(milp, Effort(), None, None, relax=True)

    def prices(self, columns: list[int], values: Floats) -> Floats | None:
        """The dual value of each row with some columns held; None where no optimum was found."""
        h = self._highs
        h.changeColsBounds(len(columns), np.array(columns, dtype=np.int32), values, values)
        h.run()
        if h.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        return np.array(h.getSolution().row_dual)


def central_prices(milp: Milp) -> Floats | None:
    """The dual value of each row, by interior point alone: what is soonest known of a large program."""
    h = _loaded(milp, Effort(), None, None, relax=True)
    h.setOptionValue("solver", "ipm")
    h.setOptionValue("run_crossover", "off")
    h.run()
    duals = h.getSolution().row_dual
    return np.array(duals) if len(duals) else None


def _loaded(milp: Milp, effort: Effort, lower: Floats | None, upper: Floats | None, relax: bool) -> highspy.Highs:
    h = _Silent()
    options: list[tuple[str, float | int | str]] = [
        ("threads", 1),
        ("mip_rel_gap", effort.gap),
        ("mip_heuristic_effort", effort.heuristics),
    ]
    if effort.heuristics == 0:
        options += [(f"mip_heuristic_run_{name}", False) for name in ("rins", "rens", "root_reduced_cost")]
    if effort.interior:
        options.append(("mip_lp_solver", "ipx"))
    if effort.seconds < INF:
        options.append(("time_limit", max(0.01, effort.seconds)))
    if effort.nodes is not None:
        options.append(("mip_max_nodes", effort.nodes))
    for name, value in options:
        h.setOptionValue(name, value)
    lp = highspy.HighsLp()
    lp.num_row_, lp.num_col_ = milp.size
    lp.col_cost_ = milp.cost
    lp.col_lower_ = milp.lower if lower is None else lower
    lp.col_upper_ = milp.upper if upper is None else upper
    lp.row_lower_ = milp.row_lower
    lp.row_upper_ = milp.row_upper
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = milp.starts
    lp.a_matrix_.index_ = milp.columns
    lp.a_matrix_.value_ = milp.values
    if not relax:
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[int(whole)] for whole in milp.integer]
    h.passModel(lp)
    return h


def _listen(h: highspy.Highs, improved: Improved | None, progress: Progress | None) -> None:
    if improved is not None:

        def on_solution(event: highspy.highs.HighsCallbackEvent) -> None:
            out = event.data_out
            improved(np.array(out.mip_solution), out.objective_function_value)

        h.cbMipImprovingSolution.subscribe(on_solution)
    if progress is not None:

        def on_interrupt(event: highspy.highs.HighsCallbackEvent) -> None:
            if progress(event.data_out.mip_dual_bound) and event.data_in is not None:
                event.data_in.user_interrupt = True

        h.cbMipInterrupt.subscribe(on_interrupt)


def _heed(h: highspy.Highs, progress: Progress | None) -> None:
    """A linear program is stopped as well; nothing is known of its bound until it is solved."""
    if progress is None:
        return
    asked = progress

    def on_interrupt(event: highspy.highs.HighsCallbackEvent) -> None:
        if asked(-INF) and event.data_in is not None:
            event.data_in.user_interrupt = True

    h.cbIpmInterrupt.subscribe(on_interrupt)
    h.cbSimplexInterrupt.subscribe(on_interrupt)


def _answer(h: highspy.Highs, relax: bool) -> Answer:
    status = h.getModelStatus()
    info = h.getInfo()
    proven = status in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible)
    has_point = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    x = np.array(h.getSolution().col_value) if has_point else None
    cost = info.objective_function_value if has_point else INF
    if relax:
        reduced = np.array(h.getSolution().col_dual) if has_point else None
        return Answer(x, cost, cost if status == highspy.HighsModelStatus.kOptimal else -INF, proven, reduced)
    return Answer(x, cost, info.mip_dual_bound, proven)
