"""Jain's fairness index (Jain, Chiu and Hawe 1984, DEC-TR-301; from memory)."""

import pytest

from apps.kernel.figures import FigureError
from apps.planning.core.fairness import Share, jain_index


def test_the_papers_worked_example() -> None:
    """Twenty dollars for a hundred people: twenty cents each is perfectly fair; a dollar each to
    twenty of them is fair to 20 %, index 0.20 (the paper's example, from memory)."""
    assert jain_index([0.2] * 100) == pytest.approx(1.0)
    assert jain_index([1.0] * 20 + [0.0] * 80) == pytest.approx(0.20)


def test_it_does_not_depend_on_the_unit_and_stays_within_bounds() -> None:
    shares = [0.2, 0.9, 0.4]
    assert jain_index(shares) == pytest.approx(jain_index([7 * share for share in shares]))
    assert 1 / 3 <= jain_index(shares) <= 1
    assert jain_index([0.0, 0.0]) == 1.0
    with pytest.raises(FigureError, match="Nobody"):
        jain_index([])


def test_a_share_is_measured_by_the_smaller_of_wish_and_capacity() -> None:
    assert Share(300, 600, 400).of_due == pytest.approx(0.75)
    assert Share(300, 400, 600).of_due == pytest.approx(0.75)
    assert Share(0, 0, 600).of_due == 1.0
