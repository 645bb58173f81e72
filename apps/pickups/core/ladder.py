"""What happens, and when, while a pickup has not been fetched. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Rung(StrEnum):
    """In the order in which they come."""

    REMINDER = "reminder"
    SECOND_REMINDER = "second_reminder"
    STANDBY = "standby"
    """Those on standby are asked; the first who accepts goes."""
    COORDINATOR = "coordinator"


@dataclass(frozen=True, slots=True)
class Times:
    """Minutes before the end of the pickup's hours."""

    reminder_min: int = 120
    second_reminder_min: int = 60
    standby_min: int = 30
    coordinator_min: int = 0

    def __post_init__(self) -> None:
        given = (
            self.reminder_min, self.second_reminder_min, self.standby_min, self.coordinator_min,
        )  # fmt: skip
        if list(given) != sorted(given, reverse=True) or min(given) < 0:
            raise ValueError(
                "Each rung comes later than the one before: reminder, second reminder, standby, "
                "coordinator, in minutes before the end."
            )


def rungs(from_min: int, till_min: int, times: Times) -> list[tuple[Rung, int]]:
    """Each rung with its minute after local midnight; none before the hours begin, so that a
    short window does not wake anybody.

    >>> rungs(9 * 60, 12 * 60, Times())[0]
    (<Rung.REMINDER: 'reminder'>, 600)
    """
    before = {
        Rung.REMINDER: times.reminder_min,
        Rung.SECOND_REMINDER: times.second_reminder_min,
        Rung.STANDBY: times.standby_min,
        Rung.COORDINATOR: times.coordinator_min,
    }
    return [(rung, max(from_min, till_min - minutes)) for rung, minutes in before.items()]
