"""Places, their hours and their absences."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from apps.groups.models import Fact
from apps.groups.operations.save_row import UnfitRow
from apps.places.models import Absence, OpeningHours, Place
from apps.places.operations.save_place import HoursOverlap, Window, save_place
from apps.places.operations.set_absence import UnusableAbsence, end_absence, set_absence
from apps.places.queries.shut_days import shut_days
from tests.cast import Cast


def save(cast: Cast, **changes: object) -> Place:
    fields = {
        "code": "yard",
        "name": "Yard",
        "latitude": Decimal("38.5"),
        "longitude": Decimal("-9"),
    }
    return save_place(cast.group, **(fields | changes))


def test_saving_again_changes_the_same_place(cast: Cast) -> None:
    first = save(cast, hours=[Window(0, 480, 720), Window(0, 780, 1080)])
    again = save(cast, name="Big yard")
    assert first.pk == again.pk
    assert OpeningHours.objects.of(cast.group).filter(place=first).count() == 2
    save(cast, hours=[])
    assert not OpeningHours.objects.of(cast.group).filter(place=first).exists()


@pytest.mark.parametrize(
    "hours",
    [
        [Window(0, 480, 720), Window(0, 700, 800)],
        [Window(7, 480, 720)],
        [Window(0, 720, 480)],
        [Window(0, 0, 1441)],
    ],
)
def test_hours_that_cannot_be_are_refused_whole(cast: Cast, hours: list[Window]) -> None:
    with pytest.raises(HoursOverlap):
        save(cast, hours=hours)
    assert not Place.objects.of(cast.group).filter(code="yard").exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [("latitude", Decimal("90.1")), ("name", "x" * 121), ("name", "a\x00b"), ("code", "a b")],
)
def test_a_field_that_cannot_be_is_named(cast: Cast, field: str, value: object) -> None:
    with pytest.raises(UnfitRow) as refused:
        save(cast, **{field: value})
    assert refused.value.field == field
    assert field in refused.value.sentence()


def test_an_absence_is_said_once_and_can_be_ended(cast: Cast) -> None:
    days = {"first_on": cast.today, "last_on": cast.today + timedelta(days=6), "now": cast.now}
    set_absence(cast.drum.place, **days)
    absence = set_absence(cast.drum.place, note="Fair", **days)
    assert Absence.objects.of(cast.group).get().note == "Fair"
    assert Fact.objects.of(cast.group).filter(kind="absence_set").count() == 1
    with pytest.raises(UnusableAbsence, match="already said"):
        set_absence(cast.drum.place, first_on=cast.today, last_on=cast.today, now=cast.now)
    end_absence(absence, now=cast.now)
    assert not Absence.objects.of(cast.group).exists()


@pytest.mark.parametrize("days", [-1, 366])
def test_absences_have_an_end(cast: Cast, days: int) -> None:
    with pytest.raises(UnusableAbsence):
        set_absence(
            cast.drum.place,
            first_on=cast.today,
            last_on=cast.today + timedelta(days=days),
            now=cast.now,
        )


def test_shut_days_are_closed_weekdays_and_absences(cast: Cast) -> None:
    set_absence(
        cast.drum.place,
        first_on=cast.today + timedelta(days=1),
        last_on=cast.today + timedelta(days=30),
        now=cast.now,
    )
    shut = shut_days(cast.group, cast.today, 7)
    # The quay opens Monday to Saturday, and the cast's today is a Monday.
    assert shut[cast.quay_stall.place_id] == {cast.today + timedelta(days=6)}
    assert shut[cast.drum.place_id] == {cast.today + timedelta(days=n) for n in range(1, 7)}
    assert cast.dome.place_id not in shut
