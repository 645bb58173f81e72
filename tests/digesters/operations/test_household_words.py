"""What a household says of its own: own kitchen waste, refused materials, a new digester."""

from __future__ import annotations

import pytest

from apps.digesters.models import Digester, OwnWaste, RefusedMaterial, StageChange
from apps.digesters.operations.add_digester import UnusableDigester, add_digester
from apps.digesters.operations.refuse_material import accept_material, refuse_material
from apps.digesters.operations.set_own_waste import UnbelievableOwnWaste, set_own_waste
from apps.ledger.models import Account
from apps.planning.queries.build_problem import build_problem
from tests.cast import Cast


def draft(cast: Cast, **changes: object) -> Digester:
    fields: dict[str, object] = {
        "code": "new-one",
        "name": "New one",
        "place": cast.drum.place,
        "kind": cast.drum.kind,
        "working_volume_ml": 1_000_000,
        "rated_feed_g": 3_000,
        "rated_slurry_ml": 10_000,
        "stage_since_on": cast.today,
    }
    return Digester(**(fields | changes))


def test_a_new_digester_has_accounts_and_a_first_stage(cast: Cast) -> None:
    made = add_digester(cast.group, draft(cast), now=cast.now, recorded_by=cast.ana)
    assert (made.account.kind, made.bin_account.kind) == ("digester", "bin")
    assert StageChange.objects.of(cast.group).get(digester=made).stage == "dry"


def test_an_impossible_digester_leaves_nothing_behind(cast: Cast) -> None:
    before = Account.objects.of(cast.group).count()
    with pytest.raises(UnusableDigester, match="working_volume_ml"):
        add_digester(cast.group, draft(cast, working_volume_ml=1_000), now=cast.now)
    assert Account.objects.of(cast.group).count() == before


def test_own_waste_of_zero_is_none(cast: Cast) -> None:
    kitchen = cast.materials["household_kitchen"]
    set_own_waste(cast.drum, kitchen, 700, now=cast.now)
    assert OwnWaste.objects.of(cast.group).get(digester=cast.drum).amount_g_per_day == 700
    assert set_own_waste(cast.drum, kitchen, 0, now=cast.now) is None
    assert not OwnWaste.objects.of(cast.group).filter(digester=cast.drum).exists()
    with pytest.raises(UnbelievableOwnWaste, match="20001 g"):
        set_own_waste(cast.drum, kitchen, 20_001, now=cast.now)


def test_a_refused_material_is_not_brought(cast: Cast) -> None:
    citrus = cast.materials["citrus_peel"]

    def accepts() -> frozenset[str]:
        problem = build_problem(cast.group, cast.today, 1).problem
        return next(each.accepts for each in problem.digesters if each.code == "duarte-drum")

    assert "citrus_peel" in accepts()
    refuse_material(cast.drum, citrus, now=cast.now)
    refuse_material(cast.drum, citrus, now=cast.now)
    assert RefusedMaterial.objects.of(cast.group).count() == 1
    assert "citrus_peel" not in accepts()
    accept_material(cast.drum, citrus, now=cast.now)
    assert "citrus_peel" in accepts()
