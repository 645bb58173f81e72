"""A pin may take of a batch more than a plan reckons with. Worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from apps.planning.core.change import Change, room_for_pins
from apps.planning.core.check_problem import check_problem
from apps.planning.core.problem import Batch, Pin
from tests.planning.generator import make_problem

BATCH = Batch("b", "s", "m", 4_000, 0, 0, 2, low_g=3_000, high_g=9_000)


@pytest.mark.parametrize(
    ("pinned", "amount_g", "low_g"),
    [
        ((), 4_000, 3_000),
        ((None,), 4_000, 3_000),
        ((3_500,), 4_000, 3_000),
        ((7_000,), 7_000, 3_000),
        ((3_500, 2_000), 5_500, 3_000),
        ((12_000,), 9_000, 3_000),
    ],
)
def test_a_batch_has_what_is_pinned_of_it_up_to_its_high_figure(
    pinned: tuple[int | None, ...], amount_g: int, low_g: int
) -> None:
    pins = [Pin("b", f"h{index}", 0, each) for index, each in enumerate(pinned)]
    [batch] = room_for_pins([BATCH], [*pins, Pin("another", "h", 0, 50_000)])
    assert (batch.amount_g, batch.low_g, batch.high_g) == (amount_g, low_g, 9_000)


def test_an_offer_is_never_stretched() -> None:
    """What a source says it has is all three figures in one."""
    said = replace(BATCH, low_g=None, high_g=None)
    assert room_for_pins([said], [Pin("b", "h", 0, 5_000)]) == (said,)


def test_a_changed_problem_has_room_for_its_new_pins() -> None:
    problem = make_problem(6, 3, 1)
    batch = replace(problem.batches[0], amount_g=2_000, low_g=2_000, high_g=6_000)
    problem = replace(problem, batches=(batch, *problem.batches[1:]))
    home = next(
        pair.digester
        for pair in problem.pairs
        if pair.source == batch.source and pair.meets_on_day[batch.ready_day]
    )
    changed = Change(pins=(Pin(batch.code, home, batch.ready_day, 3_000),)).apply(problem)
    assert next(each for each in changed.batches if each.code == batch.code).amount_g == 3_000
    assert not [fault for fault in check_problem(changed) if "batch" in fault.where]
