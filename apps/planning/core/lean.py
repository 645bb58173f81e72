"""The relaxation of a program without the yes/no columns that only follow others.

A visit that costs something and, but for its own row `carried <= cap * visit`, only takes room
is in the relaxation's optimum exactly carried / cap. Put in, it leaves less than half of the
rows. The optimum stays the same, and so does the optimal basis, which `lift` spells for the
full program.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from apps.planning.core.engine import AT_LOWER, AT_UPPER, BASIC, Basis, Bools, Program

Ints = NDArray[np.int64]

NOISE = 1e-8
"""What a row's limit may differ from 0 by when the others' part has been taken off."""


@dataclass(frozen=True)
class Lean:
    """`program` in fewer columns; `expand @ x` are the full program's columns.

    `columns`, `rows`: the full ones of the lean ones. `gone`: full columns left out, each
    following the full row `followed`, whose lean row is `limit` (-1: none is needed).
    `shut`: lean columns that are closed because what they need is."""

    program: Program
    expand: sparse.csc_matrix
    full_rows: int
    columns: Ints
    rows: Ints
    gone: Ints
    followed: Ints
    limit: Ints
    shut: Bools

    def lift(self, basis: Basis) -> Basis:
        """The full program's basis of the same vertex."""
        columns = np.full(self.expand.shape[0], BASIC, dtype=np.int64)
        rows = np.full(self.full_rows, BASIC, dtype=np.int64)
        columns[self.columns] = np.where(
            self.shut & (basis.columns != BASIC), AT_LOWER, basis.columns
        )
        rows[self.rows] = basis.rows
        tight = (self.limit >= 0) & (rows[self.followed] != BASIC)
        columns[self.gone] = np.where(tight, AT_UPPER, BASIC)
        rows[self.followed] = AT_UPPER
        return Basis(columns, rows)


def make_lean(program: Program, candidates: Bools) -> Lean:
    """`program` without those `candidates` (a flag a column) that follow others."""
    matrix = program.matrix
    follows = _rows_followed(program, candidates)
    gone = np.flatnonzero(follows >= 0)
    followed = follows[gone]
    count_rows, count = matrix.shape
    columns = np.flatnonzero(follows < 0)
    at = np.cumsum(follows < 0) - 1
    number = np.full(count_rows, -1, dtype=np.int64)
    number[followed] = np.arange(len(gone))
    entries = matrix.tocoo()
    caps = np.zeros(len(gone))
    own = (number[entries.row] >= 0) & (follows[entries.col] >= 0)
    caps[number[entries.row[own]]] = -entries.data[own]
    mine = (number[entries.row] >= 0) & (follows[entries.col] < 0)
    which, parts, sizes = number[entries.row[mine]], entries.col[mine], entries.data[mine]
    expand = sparse.coo_matrix(
        (
            np.concatenate([np.ones(len(columns)), sizes / caps[which]]),
            (np.concatenate([columns, gone[which]]), np.concatenate([at[columns], at[parts]])),
        ),
        shape=(count, len(columns)),
    ).tocsc()
    most = caps * program.upper[gone]
    shut = np.zeros(len(columns), dtype=bool)
    shut[at[parts[most[which] <= 0]]] = True
    reach = np.bincount(which, weights=sizes * program.upper[parts], minlength=len(gone))

    body = matrix @ expand
    body.data[np.abs(body.data) < 1e-12] = 0.0
    # The substitution empties the followed rows: what is left of them is the visit's own limit.
    body = body.tocsr() + sparse.csr_matrix((sizes, (followed[which], at[parts])), body.shape)
    body.eliminate_zeros()
    row_lower, row_upper = program.row_lower.copy(), program.row_upper.copy()
    row_upper[followed] = most
    needed = np.diff(body.indptr) > 0
    needed[followed] &= (reach > most * (1 + 1e-12)) & (most > 0)
    never_under = np.isinf(row_upper) & (row_lower <= NOISE)
    lowest = np.asarray(body.min(axis=1).todense()).reshape(-1)
    needed &= ~(never_under & (lowest >= 0))
    rows = np.flatnonzero(needed)
    lean_row = np.full(count_rows, -1, dtype=np.int64)
    lean_row[rows] = np.arange(len(rows))
    lower = program.lower[columns]
    return Lean(
        program=Program(
            cost=program.cost @ expand,
            matrix=body[rows].tocsc(),
            row_lower=row_lower[rows],
            row_upper=row_upper[rows],
            lower=lower,
            upper=np.where(shut, lower, program.upper[columns]),
            integral=np.zeros(len(columns), dtype=bool),
        ),
        expand=expand,
        full_rows=count_rows,
        columns=columns,
        rows=rows,
        gone=gone,
        followed=followed,
        limit=lean_row[followed],
        shut=shut,
    )


def _rows_followed(program: Program, candidates: Bools) -> Ints:
    """For each column the one row that pulls it up, where it is a candidate that costs and
    does nothing else but take room; otherwise -1."""
    matrix = program.matrix.tocoo()
    column, row, value = matrix.col, matrix.row, matrix.data
    pulls = ((value < 0) & np.isfinite(program.row_upper[row])) | (
        (value > 0) & np.isfinite(program.row_lower[row])
    )
    count = matrix.shape[1]
    may_go = candidates & (program.cost >= 0) & (program.lower == 0) & np.isfinite(program.upper)
    own = pulls & may_go[column] & (value < 0) & (np.abs(program.row_upper[row]) <= NOISE)
    own &= np.isinf(program.row_lower[row])
    # Of such a row all other entries are amounts that cannot be negative.
    odd = np.bincount(row[(value < 0) | (program.lower[column] < 0)], minlength=matrix.shape[0])
    own &= odd[row] == 1
    out = np.full(count, -1, dtype=np.int64)
    out[column[own]] = row[own]
    out[np.bincount(column[pulls], minlength=count) != 1] = -1
    return out
