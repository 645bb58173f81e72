"""Digesters with their plate, stage, own kitchen waste and refused materials."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from apps.digesters.models import Digester, DigesterKind, OwnWaste, RefusedMaterial, StageName
from apps.digesters.operations.add_digester import add_digester
from apps.digesters.operations.refuse_material import accept_material, refuse_material
from apps.digesters.operations.set_own_waste import MOST_OWN_WASTE_G, set_own_waste
from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.groups.operations.save_row import save_row
from apps.kernel.words import gettext_noop
from apps.people.models import Member
from apps.places.models import Place
from apps.reports.exchange.cells import AmountsOf, Choice, Code, Day, Several, Text, YesNo
from apps.reports.exchange.number_cells import Thousandths, Whole
from apps.reports.exchange.problem import BadCell
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing

PERCENT_PPM = 10_000

FIELDS = {
    "name": "name",
    "kind": "kind",
    "working_volume_l": "working_volume_ml",
    "rated_feed_kg": "rated_feed_g",
    "rated_slurry_l": "rated_slurry_ml",
    "gas_holder_l": "gas_holder_ml",
    "drum_diameter_mm": "drum_diameter_mm",
    "drum_stop_mm": "drum_stop_mm",
    "drum_kg": "drum_mass_g",
    "full_pressure_pa": "full_pressure_pa",
    "burner_l_per_h": "burner_ml_per_h",
    "outflow_storage_l": "outflow_storage_ml",
    "bin_kg": "bin_g",
    "wanted_minutes_per_day": "wanted_minutes_per_day",
    "max_visits_per_day": "max_visits_per_day",
    "min_pickup_kg": "min_pickup_g",
    "accepts_animal_waste": "accepts_animal_waste",
}
"""Column to field, where the value is the same."""


def _current(group: Group) -> Mapping[Key, Values]:
    own: dict[int, dict[str, int]] = defaultdict(dict)
    for waste in OwnWaste.objects.of(group).select_related("material"):
        own[waste.digester_id][waste.material.code] = waste.amount_g_per_day
    refused: dict[int, list[str]] = defaultdict(list)
    for each in RefusedMaterial.objects.of(group).select_related("material"):
        refused[each.digester_id].append(each.material.code)
    rows = Digester.objects.of(group).select_related("place", "household")
    return {
        (digester.code,): {
            "code": digester.code,
            **{column: getattr(digester, field) for column, field in FIELDS.items()},
            "place": digester.place.code,
            "household": digester.household.code if digester.household else None,
            "solids_target_percent": digester.solids_target_ppm // PERCENT_PPM,
            "stage": digester.stage,
            "stage_since_on": digester.stage_since_on,
            "own_kitchen_waste": own[digester.pk],
            "refused_materials": tuple(refused[digester.pk]),
        }
        for digester in rows
    }


def _check(row: Row, current: Values | None, today: date) -> None:
    """A stage changes on evidence only, which no file can give."""
    if current is None:
        return
    for name in ("stage", "stage_since_on"):
        if row.values[name] != current[name]:
            raise BadCell(
                gettext_noop(
                    "The digester is %(stage)s since %(since)s. A file cannot change that: "
                    "change the stage on the digester's page, with what was seen."
                ),
                field=name,
                figures={"stage": current["stage"], "since": current["stage_since_on"]},
            )


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    places, members = writing.rows(Place), writing.rows(Member)
    materials = writing.rows(Material)
    there = writing.rows(Digester)

    def fill(digester: Digester, values: Values) -> None:
        for column, field in FIELDS.items():
            setattr(digester, field, values[column])
        digester.place = places[values["place"]]
        digester.household = members.get(values["household"])
        digester.solids_target_ppm = values["solids_target_percent"] * PERCENT_PPM

    def add(row: Row) -> None:
        digester = Digester(
            group=writing.group,
            code=row.values["code"],
            stage=row.values["stage"],
            stage_since_on=row.values["stage_since_on"],
        )
        fill(digester, row.values)
        add_digester(writing.group, digester, now=writing.now, recorded_by=writing.by)
        materials_of(digester, row.values)

    def change(row: Row) -> None:
        digester = there[row.values["code"]]
        fill(digester, row.values)
        save_row(digester)
        materials_of(digester, row.values)

    def materials_of(digester: Digester, values: Values) -> None:
        said = {"now": writing.now, "recorded_by": writing.by}
        own_g = dict(values["own_kitchen_waste"])
        for waste in OwnWaste.objects.of(writing.group).filter(digester=digester):
            own_g.setdefault(waste.material.code, 0)
        for code, amount_g in sorted(own_g.items()):
            set_own_waste(digester, materials[code], amount_g, **said)
        wanted = set(values["refused_materials"])
        refused = RefusedMaterial.objects.of(writing.group).filter(digester=digester)
        for code in set(refused.values_list("material__code", flat=True)) - wanted:
            accept_material(digester, materials[code], **said)
        for code in sorted(wanted):
            refuse_material(digester, materials[code], **said)

    refusing(new, add)
    refusing(changed, change)


DIGESTERS = Sheet(
    name="digesters",
    title=gettext_noop("Digesters"),
    about=gettext_noop("One tank with its gas holder, bin and burner, at one home."),
    key=("code",),
    columns=(
        Column("code", Code(), gettext_noop("Short code, unique in the group."), True),
        Column("name", Text(120), gettext_noop("Name of the digester."), True),
        Column(
            "place", Code(), gettext_noop("Code of the home's place."), True, refers_to="places"
        ),
        Column("household", Code(), gettext_noop("Code of the householder."), refers_to="people"),
        Column("kind", Choice(tuple(DigesterKind.values)), gettext_noop("How it is built."), True),
        Column(
            "working_volume_l",
            Thousandths("L", least=50_000, most=100_000_000),
            gettext_noop("Litres of slurry that it holds in use."),
            True,
        ),
        Column(
            "rated_feed_kg",
            Thousandths("kg"),
            gettext_noop("Plate: most kilograms of waste a day; 0 is not stated, and gets none."),
            True,
        ),
        Column(
            "rated_slurry_l",
            Thousandths("L"),
            gettext_noop("Plate: most litres of waste and water a day; 0 is not stated."),
            True,
        ),
        Column(
            "solids_target_percent",
            Whole(4, 8),
            gettext_noop("Total solids wanted in the slurry, 4 to 8 %; 6 when empty."),
            default=6,
        ),
        Column(
            "gas_holder_l",
            Thousandths("L", most=100_000_000),
            gettext_noop("Litres of gas that it holds."),
            default=0,
        ),
        Column("drum_diameter_mm", Whole(100, 10_000), gettext_noop("Floating drum: diameter.")),
        Column(
            "drum_stop_mm", Whole(10, 10_000), gettext_noop("Floating drum: height at its stop.")
        ),
        Column("drum_kg", Thousandths("kg"), gettext_noop("Floating drum: its mass.")),
        Column(
            "full_pressure_pa",
            Whole(500, 20_000),
            gettext_noop("Fixed dome: pascals above the air's pressure at which gas escapes."),
        ),
        Column(
            "burner_l_per_h",
            Thousandths("L", least=1_000, most=10_000_000),
            gettext_noop("Gas that the burner takes in an hour; 300 L when empty."),
            default=300_000,
        ),
        Column(
            "outflow_storage_l",
            Thousandths("L", most=100_000_000),
            gettext_noop("Storage for liquid fertiliser; empty when nothing limits it."),
        ),
        Column(
            "bin_kg",
            Thousandths("kg"),
            gettext_noop("What the bin holds; 20 when empty."),
            default=20_000,
        ),
        Column(
            "wanted_minutes_per_day",
            Whole(0, 1440),
            gettext_noop("Minutes of one burner a day that the home wishes for; 120 when empty."),
            default=120,
        ),
        Column(
            "max_visits_per_day",
            Whole(1, 20),
            gettext_noop("Most pickups a day; 3 when empty."),
            default=3,
        ),
        Column(
            "min_pickup_kg",
            Thousandths("kg"),
            gettext_noop("Smallest worthwhile pickup; 0.5 when empty."),
            default=500,
        ),
        Column(
            "accepts_animal_waste",
            YesNo(),
            gettext_noop("yes when the home takes it and the group's rule allows it."),
            default=False,
        ),
        Column(
            "stage", Choice(tuple(StageName.values)), gettext_noop("Where it is in its life."), True
        ),
        Column("stage_since_on", Day(), gettext_noop("Since which day, like 2026-05-31."), True),
        Column(
            "own_kitchen_waste",
            AmountsOf(MOST_OWN_WASTE_G),
            gettext_noop(
                "Own waste on a usual day: material and kilograms, like household_kitchen 0.6."
            ),
            refers_to="materials",
            default={},
        ),
        Column(
            "refused_materials",
            Several(Code()),
            gettext_noop("Materials that the home does not take, a semicolon between."),
            refers_to="materials",
            default=(),
        ),
    ),
    current=_current,
    write=_write,
    check=_check,
    most_rows=500,
)
