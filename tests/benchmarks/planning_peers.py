"""The planner's own model handed whole to general solvers, from the plan that does nothing.

All wishes weighted into one objective, default settings but for what is said here. A peer stops
by processor seconds, so that a busy machine takes nothing from it: HiGHS after `seconds`, CP-SAT
after `seconds` for each of its workers.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable

import highspy
import numpy as np
from ortools.linear_solver.python import model_builder

from apps.planning.core.arrays import build_model
from apps.planning.core.canonical import sort_problem
from apps.planning.core.construct import start_plan
from apps.planning.core.engine import Floats, Program
from apps.planning.core.measure import measure_wishes
from apps.planning.core.model import Model
from apps.planning.core.problem import Problem
from apps.planning.core.relax import FIRST_WISHES, aim, whole_part
from apps.planning.core.whole_grams import round_to_grams

Wishes = tuple[float, ...]


def solve_by_highs(problem: Problem, seconds: float) -> Wishes:
    def run(program: Program, start: Floats) -> Floats | None:
        highs = highspy.Highs()
        highs.setOptionValue("output_flag", False)
        lp = highspy.HighsLp()
        lp.num_row_, lp.num_col_ = program.matrix.shape
        lp.col_cost_ = program.cost
        lp.col_lower_, lp.col_upper_ = program.lower, program.upper
        lp.row_lower_, lp.row_upper_ = program.row_lower, program.row_upper
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = program.matrix.indptr.astype(np.int32)
        lp.a_matrix_.index_ = program.matrix.indices.astype(np.int32)
        lp.a_matrix_.value_ = program.matrix.data
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[int(flag)] for flag in program.integral]
        highs.passModel(lp)
        solution = highspy.HighsSolution()
        solution.col_value = list(start)
        highs.setSolution(solution)
        highs.HandleUserInterrupt = True
        highs.enableCallbacks()
        with _Stopwatch(seconds, highs.cancelSolve):
            highs.solve()
        if highs.getInfo().primal_solution_status != highspy.kSolutionStatusFeasible:
            return None
        return np.array(highs.getSolution().col_value)

    return _wishes(problem, run)


def solve_by_cp_sat(problem: Problem, seconds: float) -> Wishes:
    """CP-SAT counts in whole numbers: it is told to take amounts in grams."""

    def run(program: Program, start: Floats) -> Floats | None:
        model = model_builder.Model()
        columns = [
            model.new_var(float(low), float(min(high, 1e6)), bool(whole), "")
            for low, high, whole in zip(program.lower, program.upper, program.integral, strict=True)
        ]
        rows = program.matrix.tocsr()
        for row in range(rows.shape[0]):
            at = slice(rows.indptr[row], rows.indptr[row + 1])
            total = model_builder.LinearExpr.weighted_sum(
                [columns[i] for i in rows.indices[at]], rows.data[at].tolist()
            )
            model.add_linear_constraint(
                total, float(program.row_lower[row]), float(program.row_upper[row])
            )
        model.minimize(model_builder.LinearExpr.weighted_sum(columns, program.cost.tolist()))
        for column, value in zip(columns, start.tolist(), strict=True):
            model.add_hint(column, value)
        solver = model_builder.Solver("sat")
        solver.set_solver_specific_parameters("mip_var_scaling: 1000")
        with _Stopwatch(seconds * (os.cpu_count() or 1), solver.stop_search):
            status = solver.solve(model)
        if status not in (model_builder.SolveStatus.OPTIMAL, model_builder.SolveStatus.FEASIBLE):
            return None
        return np.array([solver.value(column) for column in columns])

    return _wishes(problem, run)


def _wishes(problem: Problem, run: Callable[[Program, Floats], Floats | None]) -> Wishes:
    """What a peer reaches; the plan that does nothing where it finds no better one."""
    problem = sort_problem(problem)
    model: Model = build_model(problem)
    start = start_plan(model).x
    x = run(aim(whole_part(model), FIRST_WISHES), start)
    x = start if x is None else x
    x[model.integral] = np.rint(x[model.integral])
    reached = measure_wishes(problem, *round_to_grams(model, x))
    return min(reached, measure_wishes(problem, *round_to_grams(model, start)))


class _Stopwatch:
    """Calls `stop` once this process has spent so many more processor seconds."""

    def __init__(self, seconds: float, stop: Callable[[], object]) -> None:
        self._until = time.process_time() + seconds
        self._stop = stop
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def __enter__(self) -> None:
        self._thread.start()

    def __exit__(self, *_: object) -> None:
        self._done.set()
        self._thread.join()

    def _watch(self) -> None:
        while not self._done.wait(0.2):
            if time.process_time() >= self._until:
                self._stop()
                return
