"""The cautions: all there, each with a source, each deferring to local codes."""

from apps.digesters.core.cautions import CAUTIONS, DEFER


def test_every_caution_has_source_and_defers() -> None:
    for key, caution in CAUTIONS.items():
        assert caution.key == key
        assert caution.source
        assert caution.full_text.endswith(DEFER)
    assert DEFER == "Follow local codes; have gas work done by a licensed person."


def test_the_usual_dangers_are_all_covered() -> None:
    assert {
        "gas_fire", "first_gas", "hydrogen_sulphide", "pit_entry", "leaks", "hygiene", "digestate",
        "lifting", "indoors_phone",
    } <= CAUTIONS.keys()  # fmt: skip
    assert "soapy water, never with a flame" in CAUTIONS["leaks"].text
    assert "15 kg" in CAUTIONS["lifting"].text
    assert "16 L" in CAUTIONS["lifting"].text


def test_lifting_agrees_with_the_density_of_food_waste() -> None:
    """US EPA 1997: food scraps 7.49 lb/gal, 0.90 kg/L; a pail of 16 L stays under 15 kg."""
    kg_per_l = 7.49 * 0.45359237 / 3.785411784
    assert 16 * kg_per_l <= 15
