"""The life of a digester: which steps there are and what each needs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digesters.core.rules import read_rules
from apps.digesters.core.stages import (
    SEED_REST_DAYS_HIGH,
    TRANSITIONS,
    Evidence,
    Stage,
    find_transition,
    seed_digester,
)
from apps.kernel.figures import FigureError


def test_seeding() -> None:
    """Fresh dung and water 1:1 to the working volume; 12-15 days without waste: common practice,
    no source."""
    seeding = seed_digester(1_000_000)
    assert (seeding.dung_g, seeding.water_ml) == (500_000, 500_000)
    assert (seeding.rest_days_low, seeding.rest_days_high) == (12, 15)
    assert "common practice, no source" in str(seeding.note)
    assert read_rules().value("seed_rest") == SEED_REST_DAYS_HIGH


@given(st.integers(1, 10**9))
def test_seeding_fills_the_working_volume(volume_ml: int) -> None:
    seeding = seed_digester(volume_ml)
    assert seeding.dung_g + seeding.water_ml == volume_ml


def test_rest_ends_only_on_evidence() -> None:
    with pytest.raises(FigureError, match=r"2 thing.*burns.*holder was vented"):
        find_transition(
            Stage.RESTING, Stage.RAMPING, frozenset({Evidence.RESTED, Evidence.PH_GOOD})
        )
    step = find_transition(
        Stage.RESTING,
        Stage.RAMPING,
        frozenset(
            {Evidence.RESTED, Evidence.PH_GOOD, Evidence.FIRST_GAS_VENTED, Evidence.GAS_BURNS}
        ),
    )
    assert "vent the first holder" in step.caution


def test_impossible_steps_name_the_possible_ones() -> None:
    with pytest.raises(FigureError, match="dry cannot become running; it may become: seeded, clos"):
        find_transition(Stage.DRY, Stage.RUNNING, frozenset(Evidence))


def test_every_step_has_a_caution_and_is_listed_once() -> None:
    pairs = [(step.origin, step.goal) for step in TRANSITIONS]
    assert len(pairs) == len(set(pairs))
    assert all(step.caution for step in TRANSITIONS)


def test_every_stage_can_be_reached_from_dry_and_left() -> None:
    reached, frontier = {Stage.DRY}, [Stage.DRY]
    while frontier:
        here = frontier.pop()
        for step in TRANSITIONS:
            if step.origin is here and step.goal not in reached:
                reached.add(step.goal)
                frontier.append(step.goal)
    assert reached == set(Stage)
    assert {step.origin for step in TRANSITIONS} == set(Stage)


def test_nothing_is_fed_without_burning_gas_and_a_good_strip() -> None:
    """Every way into ramping asks for gas that burns and a good strip."""
    for step in TRANSITIONS:
        if step.goal is Stage.RAMPING:
            assert {Evidence.GAS_BURNS, Evidence.PH_GOOD} <= step.evidence
