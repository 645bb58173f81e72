"""A problem that contradicts itself is refused when it is made."""

import pytest

from apps.kernel.figures import FigureError
from apps.rounds.core.problem import Break, End, Errand, RoundError, Rounds, Ways, Window
from tests.rounds.small import DAY, STREET, carrier, errand, street


def test_a_window_ends_after_it_begins():
    with pytest.raises(RoundError, match="before it begins"):
        Window(100, 99)


def test_a_carrier_without_capacity_is_refused_in_words():
    with pytest.raises(RoundError, match="can carry 0 kg"):
        carrier(load_limit_g=0)


def test_a_carrier_does_not_start_where_they_may_not_be():
    with pytest.raises(RoundError, match="may not visit"):
        carrier(avoids=frozenset({0}))


@pytest.mark.parametrize("amount_g", [0, -1, 1.5, True])
def test_a_load_is_whole_grams(amount_g):
    with pytest.raises(FigureError):
        errand("a", 1, 2, amount_g)


def test_an_errand_has_an_end_and_what_is_on_a_cart_has_a_carrier():
    with pytest.raises(RoundError, match="neither fetched nor brought"):
        Errand("a", 1, None, None)
    with pytest.raises(RoundError, match="whose"):
        Errand("a", 1, None, End(1, DAY))


def test_codes_places_and_carriers_must_be_known():
    with pytest.raises(RoundError, match="listed twice"):
        street(errand("a", 1, 2), errand("a", 2, 3))
    with pytest.raises(RoundError, match="not listed"):
        street(errand("a", 1, 99))
    with pytest.raises(RoundError, match="does not carry"):
        street(errand("a", 1, 2, carrier="nobody"))
    with pytest.raises(RoundError, match="Nobody carries"):
        Rounds((), (), (STREET,))


def test_a_matrix_is_square_and_nobody_walks_to_where_they_are():
    with pytest.raises(RoundError, match="2 × 2"):
        Ways.of([[0, 1], [1]], [[0, 1], [1, 0]])
    with pytest.raises(RoundError, match="to itself"):
        Ways.of([[1]], [[0]])


def test_breaks_are_in_order():
    later, sooner = Break(Window(200, 300), 60), Break(Window(0, 100), 60)
    with pytest.raises(RoundError, match="order"):
        carrier(breaks=(later, sooner))


def test_the_order_of_the_lists_does_not_matter():
    one, other = errand("a", 1, 2), errand("b", 3, 4)
    assert street(one, other) == street(other, one)
