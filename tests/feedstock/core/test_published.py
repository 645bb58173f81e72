"""The published table: complete, honest about what it does not know, consistent."""

import pytest

from apps.feedstock.core.materials import MAX_CARBON_PCT, Material
from apps.feedstock.core.published import parse_published, read_published
from apps.feedstock.core.risk_groups import NEEDS_GROUP_SWITCH, RISK_GROUP_NAMES, RISK_GROUPS
from apps.kernel.figures import Figure, FigureError

MATERIALS = read_published()
MATERIALS_HEADER = "id,name,risk_groups,holding,buffers,cautions\n"
FIGURES_HEADER = "material_id,quantity,value,low,high,unit,source,evidence\n"


def test_every_figure_has_unit_source_and_evidence() -> None:
    assert len(MATERIALS) == 38
    for material in MATERIALS.values():
        assert set(material.groups) <= RISK_GROUPS.keys()
        for figure in material.figures.values():
            assert figure.source
            assert figure.evidence in {"read", "derived", "memory", "assumed"}


def test_canteen_waste_as_published() -> None:
    """Zhang et al. 2007, abstract: moisture 74 %, VS/TS 87 %, 0.348 m3 CH4/kg VS at 10 d and 0.435
    at 28 d."""
    canteen = MATERIALS["canteen_food_waste"]
    methane = canteen.figures["bmp_m3_per_kg_vs"]
    assert canteen.ts_share == pytest.approx(0.26)
    assert canteen.vs_share == pytest.approx(0.26 * 0.87)
    assert (methane.value, methane.evidence) == (0.435, "read")
    assert "Zhang" in methane.source


def test_cattle_dung_volatile_solids_near_the_table() -> None:
    """GTZ Schriftenreihe 97, Table B4: cow dung TS 11.6 %, VS 8.7 % of fresh."""
    assert MATERIALS["cattle_dung"].value("vs_pct_ts") == pytest.approx(100 * 8.7 / 11.6)


def test_unknown_figures_stay_absent() -> None:
    onion = MATERIALS["onion_garlic_peel"]
    assert onion.value("ts_pct_wet") is None
    assert onion.carbon_share_of_ts is None
    assert not onion.solids_known
    assert onion.groups == ("onion", "unknown_solids")
    assert MATERIALS["bread"].value("cn_ratio") is None


def test_no_material_implies_more_carbon_than_can_be() -> None:
    for material in MATERIALS.values():
        carbon = material.carbon_share_of_ts
        assert carbon is None or carbon <= MAX_CARBON_PCT / 100


def test_carbon_from_volatile_solids() -> None:
    """Carbon = VS / 1.8 (Haug 1993, Rynk 1992, from memory): dung of 75 % VS and C:N 24 (FAO)."""
    dung = MATERIALS["cattle_dung"]
    assert dung.carbon_share_of_ts == pytest.approx(0.75 / 1.8)
    assert dung.nitrogen_share_of_ts == pytest.approx(0.75 / 1.8 / 24)


def test_a_pair_implying_too_much_carbon_is_refused() -> None:
    """Pig manure of the wide table: C:N 14 and N 9.5 % come from two samples (133 % carbon)."""
    pair = {
        "cn_ratio": Figure(14, "-", "one sample", "memory"),
        "n_pct_dm": Figure(9.5, "% of dry mass", "another sample", "derived"),
    }
    with pytest.raises(FigureError, match=r"133 % carbon.*keep one"):
        Material("pig_manure", "Pig manure", pair)


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        ("x,ts_pct_wet,ten,,,% of fresh mass,s,read\n", "Row 2: value is 'ten'"),
        ("x,ts_pct_wet,nan,,,% of fresh mass,s,read\n", "not a finite number"),
        ("x,ts_pct_wet,1e999,,,% of fresh mass,s,read\n", "not a finite number"),
        ("x,ts_pct_wet,-1,,,% of fresh mass,s,read\n", "at least 0"),
        ("x,ts_pct_wet,120,,,% of fresh mass,s,read\n", "at most 100"),
        ("x,ts_pct_wet,10,,,kg,s,read\n", "give it in % of fresh mass"),
        ("x,ts_pct_wet,10,,,% of fresh mass,,read\n", "no source"),
        ("x,ts_pct_wet,10,,,% of fresh mass,s,guess\n", "unknown"),
        ("x,ts_pct_wet,10,11,,% of fresh mass,s,read\n", "low end"),
        ("x,taste,10,,,-,s,read\n", "not a known quantity"),
        ("y,ts_pct_wet,10,,,% of fresh mass,s,read\n", "not listed"),
        ("x,ts_pct_wet,1,,,% of fresh mass,s,read\n" * 2, "already has"),
    ],
)
def test_bad_rows_are_refused_in_a_sentence(figures: str, message: str) -> None:
    with pytest.raises(FigureError, match=message):
        parse_published(MATERIALS_HEADER + "x,X,,wet,no,\n", FIGURES_HEADER + figures)


def test_a_missing_column_is_named() -> None:
    with pytest.raises(FigureError, match="column name is missing"):
        parse_published("id,risk_groups,holding,buffers,cautions\n", FIGURES_HEADER)


def test_every_risk_group_has_a_name_and_a_reason() -> None:
    assert RISK_GROUP_NAMES.keys() == RISK_GROUPS.keys()
    assert RISK_GROUPS.keys() >= NEEDS_GROUP_SWITCH
