"""The one file that knows the linear and mixed-integer engine (HiGHS).

One thread, fixed seed, and limits in nodes or simplex iterations repeat exactly; a limit in
seconds does not, and is for previews only.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import version

import highspy
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

ENGINE = f"highs {version('highspy')}"
FEASIBILITY = 1e-7
DUAL, PRIMAL = 1, 4
"""The engine's numbers for its two simplex methods."""
AT_LOWER, BASIC, AT_UPPER = 0, 1, 2
"""The engine's numbers for where a basis has a column or row."""


@dataclass(frozen=True)
class Program:
    """min cost @ x, row_lower <= matrix @ x <= row_upper, lower <= x <= upper, some x whole."""

    cost: Floats
    matrix: sparse.csc_matrix
    row_lower: Floats
    row_upper: Floats
    lower: Floats
    upper: Floats
    integral: Bools


@dataclass(frozen=True)
class Basis:
    """Where each column and each row is in a vertex (`AT_LOWER`, ...)."""

    columns: NDArray[np.int64]
    rows: NDArray[np.int64]


@dataclass(frozen=True)
class Answer:
    """`x` None when nothing was found. `bound` is valid for the minimum; `proved` that it is
    reached within the asked gap."""

    x: Floats | None
    value: float
    bound: float
    proved: bool
    infeasible: bool = False
    iterations: int = 0
    row_duals: Floats | None = None
    reduced_costs: Floats | None = None


def solve_relaxation(program: Program, *, seed: int = 0) -> Answer:
    """The linear relaxation, with duals."""
    highs = _load(program, relaxed=True, seed=seed)
    highs.run()
    return _read(highs, relaxed=True)


PRICE_TOLERANCE = 1e-4
PRICE_STEPS = 4_000
"""A first-order method's steps: where it needs more, what it has by then is nearly as good."""


def price_rows(program: Program, *, seed: int = 0) -> Floats | None:
    """Prices of the relaxation's rows, near its optimal duals, by a first-order method (primal
    dual hybrid gradient: D. Applegate and others, Practical large-scale linear programming,
    2021, from memory); None when it finds none."""
    highs = _load(program, relaxed=True, seed=seed)
    highs.setOptionValue("solver", "pdlp")
    for name in ("pdlp_optimality_tolerance", "kkt_tolerance"):
        highs.setOptionValue(name, PRICE_TOLERANCE)
    highs.setOptionValue("pdlp_iteration_limit", PRICE_STEPS)
    highs.run()
    solution = highs.getSolution()
    return np.array(solution.row_dual) if solution.dual_valid else None


QUICK: dict[str, str | int | float] = {
    "presolve": "off",
    "dual_simplex_cost_perturbation_multiplier": 0.0,
    "primal_simplex_bound_perturbation_multiplier": 0.0,
    "simplex_dual_edge_weight_strategy": 1,
}
"""Options for many short solves: no perturbation, and weights that need no start (devex)."""


class Ladder:
    """One relaxation kept loaded while its cost, bounds and rows change: each rung starts from
    the last one's basis."""

    def __init__(
        self,
        program: Program,
        *,
        seed: int = 0,
        primal: bool = False,
        most: int | None = None,
        quick: bool = False,
    ) -> None:
        """`most`: simplex iterations after which a rung is given up. `quick`: rungs are near
        each other, so that neither presolve nor perturbed costs pay, and duals are not read."""
        self._highs = _load(program, relaxed=True, seed=seed)
        self._quick = quick
        if quick:
            for name, value in QUICK.items():
                self._highs.setOptionValue(name, value)
        if most is not None:
            self._highs.setOptionValue("simplex_iteration_limit", most)
        if primal:
            self._highs.setOptionValue("simplex_strategy", PRIMAL)
        self._columns = np.arange(len(program.lower), dtype=np.int32)

    def solve(self, *, primal: bool = False) -> Answer:
        """The optimum as things stand; `primal`: bounds were only loosened since the last."""
        if primal:
            self._highs.setOptionValue("simplex_strategy", PRIMAL)
        self._highs.run()
        # Changed bounds leave the duals feasible.
        self._highs.setOptionValue("simplex_strategy", DUAL)
        return _read(self._highs, relaxed=True, duals=not self._quick)

    def mark(self) -> highspy.HighsBasis:
        """Where it stands, to come back to."""
        return self._highs.getBasis()

    def return_to(self, mark: highspy.HighsBasis) -> None:
        """Begins the next solve where it was marked."""
        self._highs.setBasis(mark)

    def basis(self) -> Basis:
        """The vertex of the last solution."""
        basis = self._highs.getBasis()
        return Basis(
            np.array([int(each) for each in basis.col_status], dtype=np.int64),
            np.array([int(each) for each in basis.row_status], dtype=np.int64),
        )

    def start_from(self, basis: Basis) -> None:
        """Begins the next solve at a vertex."""
        start = highspy.HighsBasis()
        start.col_status = [highspy.HighsBasisStatus(int(each)) for each in basis.columns]
        start.row_status = [highspy.HighsBasisStatus(int(each)) for each in basis.rows]
        start.valid = True
        self._highs.setBasis(start)

    def set_bounds(self, columns: NDArray[np.int64], lower: Floats, upper: Floats) -> None:
        """New bounds for some columns."""
        if len(columns):
            self._highs.changeColsBounds(len(columns), columns.astype(np.int32), lower, upper)

    def minimise(self, cost: Floats) -> Answer:
        """The optimum for `cost`."""
        self._highs.changeColsCost(len(self._columns), self._columns, cost)
        self._highs.run()
        # The next rung's start is feasible, so the primal simplex is the short way.
        self._highs.setOptionValue("simplex_strategy", PRIMAL)
        return _read(self._highs, relaxed=True)

    def hold(self, cost: Floats, most: float) -> None:
        """Adds the row cost @ x <= most."""
        at = np.flatnonzero(cost).astype(np.int32)
        self._highs.addRow(-highspy.kHighsInf, most, len(at), at, cost[at])

    def add_column(self, cost: float, rows: NDArray[np.int64], values: Floats) -> None:
        """Adds a column from 0 upwards."""
        self._highs.addCol(cost, 0.0, highspy.kHighsInf, len(rows), rows.astype(np.int32), values)
        # The last vertex stays possible, so the primal simplex is the short way.
        self._highs.setOptionValue("simplex_strategy", PRIMAL)


def solve_whole(
    program: Program,
    *,
    start: Floats | None = None,
    seed: int = 0,
    nodes: int | None = None,
    gap: float = 0.0,
    close: float = 1e-6,
    seconds: float | None = None,
) -> Answer:
    """The mixed-integer program, from `start` if given, until the relative `gap` or the
    distance `close` is proved, or after `nodes` nodes."""
    highs = _load(program, relaxed=False, seed=seed, seconds=seconds)
    highs.setOptionValue("mip_rel_gap", gap)
    highs.setOptionValue("mip_abs_gap", close)
    # Restarting the root costs more than it brings on programs this small.
    highs.setOptionValue("mip_allow_restart", False)
    if nodes is not None:
        highs.setOptionValue("mip_max_nodes", nodes)
    if start is not None:
        solution = highspy.HighsSolution()
        solution.col_value = list(start)
        highs.setSolution(solution)
    highs.run()
    answer = _read(highs, relaxed=False)
    if start is not None and answer.x is not None:
        off = abs(float(program.cost @ answer.x) - answer.value)
        if off > OFF * (1 + abs(answer.value)):
            # The engine names a better plan than the one it hands back, its start.
            return solve_whole(
                program, seed=seed, nodes=nodes, gap=gap, close=close, seconds=seconds
            )
    return answer


def bound_whole(program: Program, *, rounds: int, seed: int = 0) -> float:
    """A bound of the mixed-integer program that its cuts prove in about so many rounds of
    them; no plan is looked for."""
    highs = _load(program, relaxed=False, seed=seed)
    highs.setOptionValue("mip_heuristic_effort", 0.0)
    highs.setOptionValue("mip_allow_restart", False)
    highspy.Highs.enableCallbacks(highs)  # type: ignore[no-untyped-call]
    asked = 0

    def stop(event: highspy.highs.HighsCallbackEvent) -> None:
        # The engine asks once a round: unlike a clock, that repeats.
        nonlocal asked
        asked += 1
        if asked >= rounds:
            event.interrupt()

    highs.cbMipInterrupt.subscribe(stop)
    highs.run()
    return float(highs.getInfo().mip_dual_bound)


OFF = 1e-6
"""Relative room between the cost of what the engine hands back and what it says it costs."""


class _Silent(highspy.Highs):
    """Without callbacks: setting one prints a banner before any option can forbid it."""

    def enableCallbacks(self) -> None:  # noqa: N802 (the engine's name)
        """Sets none."""


def _load(
    program: Program, *, relaxed: bool, seed: int, seconds: float | None = None
) -> highspy.Highs:
    highs = _Silent()  # type: ignore[no-untyped-call]
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("log_to_console", False)
    highs.setOptionValue("threads", 1)
    highs.setOptionValue("random_seed", seed)
    highs.setOptionValue("primal_feasibility_tolerance", FEASIBILITY)
    highs.setOptionValue("mip_feasibility_tolerance", FEASIBILITY)
    if seconds is not None:
        highs.setOptionValue("time_limit", max(seconds, 0.0))
    matrix = program.matrix
    lp = highspy.HighsLp()
    lp.num_row_, lp.num_col_ = matrix.shape
    lp.col_cost_ = program.cost
    lp.col_lower_, lp.col_upper_ = program.lower, program.upper
    lp.row_lower_, lp.row_upper_ = program.row_lower, program.row_upper
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = matrix.indptr.astype(np.int32)
    lp.a_matrix_.index_ = matrix.indices.astype(np.int32)
    lp.a_matrix_.value_ = matrix.data
    if not relaxed and program.integral.any():
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[int(flag)] for flag in program.integral]
    highs.passModel(lp)
    return highs


def _read(highs: highspy.Highs, *, relaxed: bool, duals: bool = True) -> Answer:
    status = highs.getModelStatus()
    info = highs.getInfo()
    found = info.primal_solution_status == highspy.kSolutionStatusFeasible
    proved = status == highspy.HighsModelStatus.kOptimal
    solution = highs.getSolution()
    x = np.array(solution.col_value) if found else None
    value = float(info.objective_function_value) if found else float("inf")
    proved_bound = value if proved else -float("inf")
    bound = proved_bound if relaxed else float(info.mip_dual_bound)
    infeasible = status in (
        highspy.HighsModelStatus.kInfeasible,
        highspy.HighsModelStatus.kUnboundedOrInfeasible,
    )
    with_duals = relaxed and proved and duals
    row_duals = np.array(solution.row_dual) if with_duals else None
    reduced = np.array(solution.col_dual) if with_duals else None
    iterations = max(0, int(info.simplex_iteration_count))
    return Answer(x, value, bound, proved, infeasible, iterations, row_duals, reduced)
