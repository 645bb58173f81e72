"""The way back after souring. Figures are the module's own, chosen by us where it says so."""

from __future__ import annotations

import pytest

from apps.digesters.core.cautions import CAUTIONS
from apps.digesters.core.recovery import RECOVERY, RecoveryStep, recovery_step


@pytest.mark.parametrize(
    ("is_recovering", "is_sour", "days", "strip", "age", "due"),
    [
        (False, False, 0, 7.0, 0, None),
        (False, True, 0, 6.2, 0, RecoveryStep.STOP),
        (True, True, 0, None, 0, RecoveryStep.STRIP),
        (True, True, 2, 6.2, 3, RecoveryStep.STRIP),
        (True, True, 2, 6.2, 0, RecoveryStep.WAIT),
        (True, True, 7, 6.2, 0, RecoveryStep.BUFFER),
        (True, False, 9, 6.6, 1, RecoveryStep.WAIT),
        (True, False, 9, 6.8, 1, RecoveryStep.FEED),
        (True, True, 9, 7.0, 1, RecoveryStep.WAIT),  # it still smells sour
        (True, True, 1, 4.9, 0, RecoveryStep.RESEED),
        (True, True, 30, 6.4, 0, RecoveryStep.RESEED),
    ],
)
def test_the_step_follows_strip_and_days(
    is_recovering: bool, is_sour: bool, days: int, strip: float | None, age: int, due: object
) -> None:
    assert (
        recovery_step(
            is_recovering=is_recovering,
            is_sour=is_sour,
            days_stopped=days,
            strip=strip,
            strip_days=age,
        )
        is due
    )


def test_every_step_has_known_cautions_and_a_source() -> None:
    assert set(RECOVERY) == set(RecoveryStep)
    for text in RECOVERY.values():
        assert text.cautions
        assert set(text.cautions) <= set(CAUTIONS)
        assert text.source
