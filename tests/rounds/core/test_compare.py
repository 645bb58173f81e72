"""Everybody fetches their own, by hand."""

from apps.rounds.core.compare import Effort, OwnTrip, everybody_fetches


def test_there_and_back_and_only_the_way_back_is_loaded():
    found = everybody_fetches(
        [
            OwnTrip("h1", 300, 400, 2_000, 60),
            OwnTrip("h1", 100, 120, 1_000),
            OwnTrip("h2", 50, 60, 500),
        ]
    )
    assert found == Effort(2, 800 + 60 + 240 + 120, 900, 600_000 + 100_000 + 25_000)
