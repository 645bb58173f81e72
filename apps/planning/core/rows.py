"""Rows of a model, collected as triplets."""

from __future__ import annotations

import numpy as np
from scipy import sparse

from apps.planning.core.model import Floats, Ints


class Rows:
    """Rows `lower <= matrix @ x <= upper` that grow."""

    def __init__(self) -> None:
        self._rows: list[Ints] = []
        self._columns: list[Ints] = []
        self._values: list[Floats] = []
        self._lower: list[Floats] = []
        self._upper: list[Floats] = []
        self.count = 0

    def open(self, lower: Floats, upper: Floats) -> int:
        """Adds rows with these limits; returns the first one's index."""
        first = self.count
        self._lower.append(np.asarray(lower, dtype=float))
        self._upper.append(np.asarray(upper, dtype=float))
        self.count += len(lower)
        return first

    def under(self, upper: Floats) -> int:
        """Adds rows that are only limited from above."""
        return self.open(full(len(upper), -np.inf), upper)

    def over(self, lower: Floats) -> int:
        """Adds rows that are only limited from below."""
        return self.open(lower, full(len(lower), np.inf))

    def put(self, rows: Ints | int, columns: Ints, values: Floats | float) -> None:
        """Adds entries; one row or one value stands for all `columns`."""
        columns = np.asarray(columns, dtype=np.int64)
        self._rows.append(np.broadcast_to(np.asarray(rows, dtype=np.int64), columns.shape))
        self._columns.append(columns)
        self._values.append(np.broadcast_to(np.asarray(values, dtype=float), columns.shape))

    def close(self, columns: int) -> tuple[sparse.csc_matrix, Floats, Floats]:
        """The matrix of all entries, and the rows' lower and upper limits."""
        entries = (
            np.concatenate(self._values),
            (np.concatenate(self._rows), np.concatenate(self._columns)),
        )
        matrix = sparse.coo_matrix(entries, shape=(self.count, columns)).tocsc()
        return matrix, np.concatenate(self._lower), np.concatenate(self._upper)


def full(count: int, value: float) -> Floats:
    return np.full(count, value, dtype=float)
