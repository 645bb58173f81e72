"""What the process model is told of each digester, day by day: a constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q

from apps.digesters.core.process.cooking import Burner
from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.gas import STANDARD_PA, standard_m3
from apps.digesters.core.process.load import Portion
from apps.digesters.core.process.look_record import MOST_DAYS_BETWEEN, Look, gas_between
from apps.digesters.core.process.temperature_course import slurry_course_c
from apps.digesters.core.process.track import DayRecord
from apps.digesters.core.slurry_temperature import LAG_DAYS, AirDay, SlurryReading
from apps.digesters.models import Digester, Reading, ReadingKind
from apps.digesters.queries.day_facts import UNKNOWN_SLURRY_C
from apps.digesters.queries.gas_now import holder_reading, look_at_holder
from apps.digesters.queries.records import group_air
from apps.feedstock.core.materials import Material
from apps.feedstock.queries.known_materials import known_materials
from apps.groups.models import Group
from apps.kernel.days import days_from
from apps.ledger.models import LiquidKind
from apps.ledger.queries.grams_per_day import fed_per_day, liquids_per_day


@dataclass(frozen=True)
class ModelInputs:
    """One digester's readings and feedings, ready to be told to the model.

    `fed_g` by day and material code, `water_ml` by day; `readings` oldest first, withdrawn ones
    left out, slurry temperatures from the beginning; `air`: days whose air the group knows.
    """

    digester: Digester
    materials: Mapping[str, Material]
    fed_g: Mapping[date, Mapping[str, int]]
    water_ml: Mapping[date, int]
    readings: Sequence[Reading]
    air_normals_c: tuple[float, ...]
    air: tuple[AirDay, ...] = ()

    def portions(self, grams: Mapping[str, float]) -> tuple[Portion, ...]:
        """Grams by material code as the model eats them."""
        return tuple(
            Portion(
                amount_g / 1000,
                self.materials[code].vs_share,
                fractions_of(code),
            )
            for code, amount_g in sorted(grams.items())
            if amount_g > 0
        )

    def slurry_c(self, first: date, days: int) -> tuple[float, ...]:
        """Slurry temperature from the group's monthly normals by a lag, moved by thermometers in
        the air and in the slurry where there are any."""
        warm = [
            SlurryReading(each.on, each.value / 100)
            for each in self.readings
            if each.kind == ReadingKind.SLURRY_TEMPERATURE and -500 <= each.value <= 7500
        ]
        if not self.air_normals_c:
            known = [each for each in warm if each.on <= first]
            return (known[-1].celsius if known else UNKNOWN_SLURRY_C,) * days
        lag_days = LAG_DAYS[self.digester.kind]
        return slurry_course_c(self.air_normals_c, first, days, lag_days, warm, self.air)

    def room_m3(self, gas_c: float) -> float | None:
        """The full holder [dry standard m3]; None where its measures are not known."""
        found = look_at_holder(self.digester, holder_reading(self.digester)[1], gas_c)
        return found[0].standard_m3 if found else None

    def looks(self, celsius: Mapping[date, float]) -> dict[date, Look]:
        """The last look at the holder of each day in `celsius`."""
        wanted, _ = holder_reading(self.digester)
        looks = {}
        for reading in self.readings:
            if reading.kind == wanted and reading.on in celsius:
                found = look_at_holder(self.digester, reading.value, celsius[reading.on])
                if found is not None:
                    looks[reading.on] = Look(reading.on, found[0])
        return looks

    def burner(self, gas_c: float) -> Burner:
        """The home's burner, with gas as warm as the slurry."""
        found = look_at_holder(self.digester, 0, gas_c)
        return Burner(self.digester.burner_ml_per_h / 1000, gas_c, found[1] if found else 0.0)

    def burnt_m3(self, celsius: Mapping[date, float]) -> dict[date, float]:
        """Gas burnt for cooking on the days on which minutes were written down."""
        burnt: dict[date, float] = defaultdict(float)
        for reading in self.readings:
            if reading.kind == ReadingKind.BURNER and reading.on in celsius:
                burnt[reading.on] += self.burner(celsius[reading.on]).burnt_m3(reading.value)
        return burnt

    def released_m3(self, celsius: Mapping[date, float]) -> dict[date, float]:
        """Gas burnt off or let out, which cooked nothing."""
        released: dict[date, float] = defaultdict(float)
        for reading in self.readings:
            if reading.on not in celsius:
                continue
            if reading.kind == ReadingKind.FLARED:
                released[reading.on] += self.burner(celsius[reading.on]).burnt_m3(reading.value)
            elif reading.kind == ReadingKind.VENTED:
                wet_m3 = reading.value / 1000
                released[reading.on] += float(standard_m3(wet_m3, celsius[reading.on], STANDARD_PA))
        return released

    def records(self, first: date, last: date) -> tuple[DayRecord, ...]:
        """Every day from `first` to `last`, an empty record where nobody wrote anything down."""
        early = first - timedelta(days=MOST_DAYS_BETWEEN)
        course = self.slurry_c(early, (last - early).days + 1)
        celsius = dict(zip(days_from(early, len(course)), course, strict=True))
        looks = self.looks(celsius)
        burnt, released = self.burnt_m3(celsius), self.released_m3(celsius)
        strips = {
            each.on: each.value / 100 for each in self.readings if each.kind == ReadingKind.PH
        }
        last_look = max((look for look in looks.values() if look.on < first),
                        key=lambda look: look.on, default=None)  # fmt: skip
        records = []
        for on in days_from(first, max(0, (last - first).days + 1)):
            look = looks.get(on)
            gas = None
            if look is not None:
                room_m3 = self.room_m3(celsius[on]) or 0.0
                gas = gas_between(last_look, look, burnt, released, room_m3)
                last_look = look
            records.append(
                DayRecord(
                    on=on,
                    portions=self.portions(self.fed_g.get(on, {})),
                    water_l=self.water_ml.get(on, 0) / 1000,
                    slurry_c=celsius[on],
                    gas=gas,
                    looked=look is not None,
                    ph=strips.get(on),
                )
            )
        return tuple(records)


def model_inputs(
    group: Group, digesters: Iterable[Digester], first: date, last: date
) -> dict[int, ModelInputs]:
    """By digester id: feedings of the days given, readings up to `last` from far enough back."""
    digesters = list(digesters)
    materials = known_materials(group)
    of_account = {digester.account_id: digester.pk for digester in digesters}
    fed: dict[int, dict[date, dict[str, int]]] = defaultdict(dict)
    for (account, on), grams in fed_per_day(group, list(of_account), first, last).items():
        fed[of_account[account]][on] = grams
    water: dict[int, dict[date, int]] = defaultdict(dict)
    for (account, on), amount_ml in liquids_per_day(
        group, LiquidKind.WATER, list(of_account), first, last
    ).items():
        water[of_account[account]][on] = amount_ml
    readings: dict[int, list[Reading]] = defaultdict(list)
    early = first - timedelta(days=MOST_DAYS_BETWEEN)
    read = list(
        Reading.objects.of(group)
        .filter(
            Q(digester__in=of_account.values()) | Q(kind=ReadingKind.AIR_TEMPERATURE),
            withdrawn_at=None,
            on__lte=last,
        )
        .order_by("taken_at", "id")
    )
    for reading in read:
        if reading.on >= early or reading.kind == ReadingKind.SLURRY_TEMPERATURE:
            readings[reading.digester_id].append(reading)
    air = group_air(group, read)
    normals = tuple(float(celsius) for celsius in group.air_normals_c)
    return {
        digester.pk: ModelInputs(
            digester,
            materials,
            fed[digester.pk],
            water[digester.pk],
            readings[digester.pk],
            normals,
            air,
        )
        for digester in digesters
    }
