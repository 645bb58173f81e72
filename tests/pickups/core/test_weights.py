"""Gross to net, and when two scales disagree."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.pickups.core.weights import Gross, Net, are_contested, is_unusual, net


def test_a_pail_with_foreign_matter():
    # The customer's own example: 12.4 kg gross, tare 0.9, 1.5 kg of foreign matter.
    assert net(Gross(12_400, 900, 1_500)) == Net(11_500, 10_000, 1_500)


@pytest.mark.parametrize(
    "weighed", [Gross(900, 900), Gross(1000, 200, 900), Gross(5000, -1), Gross(5000, 0, -1)]
)
def test_impossible_weighings_are_refused(weighed):
    with pytest.raises(ValueError, match="cannot hold"):
        net(weighed)


@given(st.integers(1, 50_000), st.integers(0, 5_000), st.integers(0, 5_000))
def test_nothing_is_lost_between_gross_and_net(content_g, tare_g, foreign_g):
    if foreign_g > content_g:
        return
    found = net(Gross(content_g + tare_g, tare_g, foreign_g))
    assert found.delivered_g + found.set_aside_g == found.collected_g == content_g


@pytest.mark.parametrize(
    ("giver_g", "fetcher_g", "contested"),
    [(None, 5000, False), (5000, 5200, False), (5000, 6000, True), (400, 150, False)],
)
def test_two_weights_are_contested_when_far_apart(giver_g, fetcher_g, contested):
    assert are_contested(giver_g, fetcher_g) is contested


@pytest.mark.parametrize(("amount_g", "unusual"), [(2999, False), (3000, True)])
def test_three_times_the_usual_is_asked_again(amount_g, unusual):
    assert is_unusual(amount_g, 1000) is unusual
