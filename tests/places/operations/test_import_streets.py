"""A group's streets: brought in, read as work, used; what does not fit changes nothing."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from apps.groups.models import Fact, Work
from apps.groups.operations.do_work import do_due_work
from apps.places.core.streets.tags import Mode
from apps.places.models import ExtractState, Place, StreetExtract
from apps.places.operations.import_streets import ExtractRefused, import_streets
from apps.places.operations.read_streets import read_extract_row
from apps.places.operations.remove_streets import remove_streets
from apps.places.operations.save_place import save_place
from apps.places.queries.places_off_streets import places_off_streets
from apps.places.queries.street_maps import street_map
from apps.places.queries.way_lengths import way_lengths_m
from tests.cast import Cast
from tests.places.extracts import HELSINKI, extract_of, harbour, helsinki


def bring_in(cast: Cast, data: bytes) -> StreetExtract:
    sent = import_streets(cast.group, data, file_name="h.osm.pbf", now=cast.now, by=cast.ana)
    return read_extract_row(sent, now=cast.now + timedelta(minutes=1))


def way(cast: Cast, by: Mode = "foot") -> tuple[int, bool]:
    """From the quay to Duarte's, and whether it goes along streets."""
    places = [Place.objects.of(cast.group).get(code=code) for code in ("quay", "duarte-home")]
    ways = way_lengths_m(cast.group, places, by=by)
    return int(ways.metres[0, 1]), bool(ways.along_streets[0, 1])


def test_work_reads_the_file_and_ways_go_along_the_streets(cast: Cast) -> None:
    straight_m, along = way(cast)
    assert not along
    import_streets(cast.group, harbour(), file_name="h.osm.pbf", now=cast.now, by=cast.ana)
    Work.objects.of(cast.group).exclude(kind="read_streets").delete()
    assert street_map(cast.group) is None
    do_due_work()
    extract = StreetExtract.objects.of(cast.group).get()
    assert extract.state == ExtractState.IN_USE
    assert extract.raw is None
    assert extract.walk_m == pytest.approx(12 * 900 + 10 * 1_100, rel=0.06)
    street_m, along = way(cast)
    assert along
    # 150 m east and 100 m north, around the corner; 0.000012 degrees of longitude are 1.046 m.
    assert street_m == pytest.approx(157 + 100, abs=3)
    assert straight_m == pytest.approx(1.3 * 186, abs=3)
    assert way(cast, "bicycle") == way(cast, "cart") == (street_m, True)
    assert Fact.objects.of(cast.group).filter(kind="streets_changed").count() == 1


def test_a_newer_extract_takes_the_place_of_the_one_before(cast: Cast) -> None:
    bring_in(cast, harbour())
    small = extract_of(
        {1: (38.5, -9.001), 2: (38.5, -8.999)}, [([1, 2], {"highway": "residential"})]
    )
    assert bring_in(cast, small).state == ExtractState.IN_USE
    assert StreetExtract.objects.of(cast.group).count() == 1
    assert street_map(cast.other_group) is None


def test_an_extract_of_another_town_is_refused_and_says_how_far(cast: Cast) -> None:
    before = way(cast)
    refused = bring_in(cast, helsinki())
    assert refused.state == ExtractState.REFUSED
    said = refused.refusal % refused.refusal_figures
    assert "another town" in said
    assert 3_000 < float(refused.refusal_figures["away"]) < 4_000
    assert way(cast) == before
    bring_in(cast, harbour())
    after = way(cast)
    assert bring_in(cast, helsinki()).state == ExtractState.REFUSED
    assert way(cast) == after


@pytest.mark.parametrize(
    "data", [b"", harbour()[:-20], b"no extract at all"], ids=["empty", "cut", "other"]
)
def test_a_bad_file_is_refused_at_once_and_nothing_is_kept(cast: Cast, data: bytes) -> None:
    bring_in(cast, harbour())
    with pytest.raises(ExtractRefused):
        import_streets(cast.group, data, file_name="x", now=cast.now)
    assert StreetExtract.objects.of(cast.group).get().state == ExtractState.IN_USE


def test_reading_twice_is_reading_once(cast: Cast) -> None:
    extract = bring_in(cast, harbour())
    assert read_extract_row(extract, now=cast.now + timedelta(hours=1)).read_at == extract.read_at


def test_a_place_off_the_streets_has_straight_ways_and_is_named(cast: Cast) -> None:
    bring_in(cast, harbour())
    assert places_off_streets(cast.group) == []
    quay = Place.objects.of(cast.group).get(code="quay")
    far = save_place(
        cast.group,
        code="farm",
        name="Farm",
        latitude=quay.latitude,
        longitude=quay.longitude + Decimal("0.05"),
    )
    assert places_off_streets(cast.group) == [(far, ("foot", "bicycle", "cart"))]
    ways = way_lengths_m(cast.group, [far, quay])
    assert not ways.along_streets[0, 1]
    assert ways.along_streets[1, 1]
    assert ways.metres[0, 1] == pytest.approx(1.3 * 4_360, rel=0.01)
    near = way_lengths_m(cast.group, [far, quay], limit_m=1_000)
    assert near.metres[0, 1] > 1_000_000
    assert near.metres[1, 1] == 0


def test_removing_the_streets_goes_back_to_straight_lines(cast: Cast) -> None:
    before = way(cast)
    extract = bring_in(cast, harbour())
    remove_streets(extract, by=cast.ana, now=cast.now)
    assert way(cast) == before
    assert Fact.objects.of(cast.group).filter(kind="streets_changed").count() == 2


def test_the_command_reads_at_once_or_says_why_not(cast: Cast, tmp_path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "harbour.osm.pbf"
    file.write_bytes(harbour())
    call_command("import_streets", "--group", "harbour", str(file))
    assert street_map(cast.group) is not None
    with pytest.raises(CommandError, match="another town"):
        call_command("import_streets", "--group", "harbour", str(HELSINKI))
    with pytest.raises(CommandError, match="no file"):
        call_command("import_streets", "--group", "harbour", str(tmp_path / "none"))
