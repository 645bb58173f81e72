"""Open Location Codes, against the test vectors of google/open-location-code (Apache-2.0)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from apps.places.core.distance import Point
from apps.places.core.location_code import (
    EXAMPLE,
    LEAST_DIGITS,
    UnreadableCode,
    code_of_point,
    find_code,
    point_of_code,
)

VECTORS = Path(__file__).resolve().parents[2] / "data" / "open_location_code"
HERE = Point(47.0, 8.0)


def rows(name: str) -> list[dict[str, str]]:
    with (VECTORS / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows("decoding"), ids=lambda row: row["code"])
def test_full_codes_name_their_spot_unless_it_is_a_whole_area(row: dict[str, str]) -> None:
    if int(row["length"]) < LEAST_DIGITS:
        with pytest.raises(UnreadableCode, match="whole area"):
            point_of_code(row["code"])
        return
    point = point_of_code(row["code"].lower())
    middle = ((float(row["south"]) + float(row["north"])) / 2,
              (float(row["west"]) + float(row["east"])) / 2)  # fmt: skip
    assert (point.latitude, point.longitude) == pytest.approx(middle, abs=1e-9)
    if int(row["length"]) == LEAST_DIGITS:
        assert code_of_point(point) == row["code"]


@pytest.mark.parametrize("row", rows("short_codes"), ids=lambda row: row["short"])
def test_short_codes_are_the_nearest(row: dict[str, str]) -> None:
    near = Point(float(row["near_latitude"]), float(row["near_longitude"]))
    if row["code"].endswith("+"):
        with pytest.raises(UnreadableCode, match=f"“{row['code'][:-1]}"):
            point_of_code(row["short"], near)
        return
    assert point_of_code(row["short"], near) == point_of_code(row["code"])
    with pytest.raises(UnreadableCode, match="short code"):
        point_of_code(row["short"])


@pytest.mark.parametrize("row", rows("validity"), ids=lambda row: row["code"])
def test_what_is_no_code_is_refused(row: dict[str, str]) -> None:
    if row["is_valid"] == "false":
        with pytest.raises(UnreadableCode, match="no Open Location Code"):
            point_of_code(row["code"], HERE)
    elif len(row["code"].replace("+", "").strip("0")) >= LEAST_DIGITS or row["is_short"] == "true":
        point_of_code(row["code"], HERE)


def test_a_code_is_found_before_the_name_of_a_town() -> None:
    assert find_code("cj+2vx, Reading") == "CJ+2VX"
    assert find_code(" 8FVC2222+22 ") == "8FVC2222+22"
    assert find_code("Salt Lane 3") is None
    assert find_code("12+13 Salt Lane") == "12+13"
    assert point_of_code(EXAMPLE)
