"""Readings: believable, once per key, and a sour one is told."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.digesters.models import Reading, ReadingKind
from apps.digesters.operations.record_reading import (
    ReadingKeyUsed,
    Recorded,
    UnbelievableReading,
    record_reading,
)
from apps.digesters.operations.withdraw_reading import AlreadyWithdrawn, withdraw_reading
from apps.digesters.queries.day_limits import day_limits
from apps.groups.models import Fact, Work
from tests.cast import Cast


def read(cast: Cast, kind: ReadingKind, value: int, key: str = "k") -> Recorded:
    return record_reading(
        cast.drum,
        kind=kind,
        value=value,
        taken_at=cast.now,
        now=cast.now,
        client_key=key,
        recorded_by=cast.duarte,
    )


def test_the_same_tap_five_times_is_one_reading(cast: Cast) -> None:
    taps = [read(cast, ReadingKind.BURNER, 45) for _ in range(5)]
    assert [tap.is_repeat for tap in taps] == [False, True, True, True, True]
    assert Reading.objects.of(cast.group).count() == 1
    with pytest.raises(ReadingKeyUsed, match="with the value 45"):
        read(cast, ReadingKind.BURNER, 46)


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        (ReadingKind.DRUM_HEIGHT, 901),  # above its stop at 900 mm
        (ReadingKind.PH, 1401),
        (ReadingKind.BURNER, -1),
        (ReadingKind.BURNER, 1441),
        (ReadingKind.FLAME, 3),
        (ReadingKind.SOUR_SMELL, True),
    ],
)
def test_what_cannot_be_read_is_refused(cast: Cast, kind: ReadingKind, value: int) -> None:
    with pytest.raises(UnbelievableReading):
        read(cast, kind, value)


def test_tomorrow_has_not_been_read_yet(cast: Cast) -> None:
    with pytest.raises(UnbelievableReading, match="has not come yet"):
        record_reading(
            cast.drum,
            kind=ReadingKind.PH,
            value=700,
            taken_at=cast.now + timedelta(days=1),
            now=cast.now,
            client_key="later",
        )


def test_a_strip_of_6_49_stops_and_6_50_does_not(cast: Cast) -> None:
    """Below 6.5 feeding stops (handbooks, from memory)."""
    assert read(cast, ReadingKind.PH, 649, "a").stops_feeding
    assert not read(cast, ReadingKind.PH, 650, "b").stops_feeding
    told = Fact.objects.of(cast.group).filter(kind="digester_soured", subject_uuid=cast.drum.uuid)
    assert told.count() == 1
    assert Work.objects.of(cast.group).filter(kind="plan_again").count() == 1


def test_a_withdrawn_strip_no_longer_stops(cast: Cast) -> None:
    strip = read(cast, ReadingKind.PH, 600).reading

    def most() -> int:
        return day_limits(cast.group, cast.today, 1)["duarte-drum"].days[0].limits.max_vs_g

    assert most() == 0
    withdraw_reading(strip, now=cast.now, recorded_by=cast.duarte)
    assert most() > 0
    with pytest.raises(AlreadyWithdrawn):
        withdraw_reading(strip, now=cast.now)
