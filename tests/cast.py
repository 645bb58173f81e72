"""The one small neighbourhood that the tests share. Everybody in it is invented.

The harbour quarter has three homes with digesters and three sources; the hill quarter is
another group that must never see any of it. Days are counted from `NOW`, a Monday evening.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from apps.digesters.models import Digester, DigesterKind, StageName
from apps.digesters.operations.add_digester import add_digester
from apps.digesters.operations.set_own_waste import set_own_waste
from apps.feedstock.models import Material
from apps.feedstock.operations.found_group import found_group
from apps.groups.models import Group
from apps.kernel.days import local_date, local_instant
from apps.ledger.models import AccountKind, LiquidKind, PostingKind
from apps.ledger.operations.entry import Entry, Pour, moves_between
from apps.ledger.operations.open_account import OWN_KITCHENS, shared_account
from apps.ledger.operations.post import post_history
from apps.people.models import Member, Role, User
from apps.people.operations.add_member import add_member
from apps.people.operations.create_group import create_group
from apps.places.models import Place
from apps.places.operations.save_place import Window, save_place
from apps.supply.models import Destination, Source, SourceKind, Stream
from apps.supply.operations.save_destination import save_destination
from apps.supply.operations.save_source import save_source
from apps.supply.operations.save_stream import save_stream
from tests.remembered import remembered

NOW = datetime(2026, 5, 11, 17, 0, tzinfo=UTC)
"""Monday, 18:00 in the harbour quarter."""

ZONE = "Europe/Lisbon"

AIR_NORMALS_C = [11, 12, 14, 15, 18, 21, 24, 24, 22, 18, 14, 12]
"""Invented, of a mild coast."""

SHOP_HOURS = [Window(day, 8 * 60, 19 * 60) for day in range(6)]
"""Monday to Saturday, eight to seven."""


@dataclass
class Cast:
    """Who and what there is in the harbour quarter; `ana` founded it."""

    group: Group
    now: datetime
    ana: Member
    """Group administrator."""
    bruno: Member
    """Assigner."""
    carla: Member
    """Coordinator."""
    duarte: Member
    """Householder with a floating drum that runs."""
    elsa: Member
    """Householder with a fixed dome that runs."""
    heitor: Member
    """Householder with a bag that is paused; has no account, others act for him."""
    filipe: Member
    """Contact of the quay stall."""
    graca: Member
    """Carrier."""
    drum: Digester
    dome: Digester
    bag: Digester
    quay_stall: Source
    school_canteen: Source
    ines_garden: Source
    vegetables: Stream
    citrus: Stream
    peelings: Stream
    grass: Stream
    compost: Destination
    other_group: Group
    outsider: Member
    """Administrator of the hill quarter."""
    materials: dict[str, Material] = field(default_factory=dict)

    @property
    def today(self) -> date:
        """The harbour quarter's local date at `now`."""
        return local_date(self.now, self.group.time_zone)

    @property
    def members(self) -> dict[str, Member]:
        """Everybody with an account in the harbour quarter, by first name."""
        names = ("ana", "bruno", "carla", "duarte", "elsa", "filipe", "graca")
        return {name: getattr(self, name) for name in names}


@remembered
def make_cast(now: datetime = NOW, *, history_days: int = 28) -> Cast:
    """Save the neighbourhood; the two running digesters were fed on each of `history_days`
    days up to yesterday, at 2.5 and 4 kg a day."""
    ana = found_group(
        _user("ana"),
        code="harbour",
        name="Harbour quarter",
        time_zone=ZONE,
        language="en",
        now=now,
    )
    group = ana.group
    group.air_normals_c = AIR_NORMALS_C
    group.save()
    materials = {material.code: material for material in Material.objects.of(group)}
    people = {
        name: add_member(
            group,
            code=name,
            name=name.capitalize(),
            roles=roles,
            user=_user(name) if name != "heitor" else None,
        )
        for name, roles in {
            "bruno": [Role.ASSIGNER],
            "carla": [Role.COORDINATOR],
            "duarte": [Role.HOUSEHOLDER],
            "elsa": [Role.HOUSEHOLDER],
            "heitor": [Role.HOUSEHOLDER],
            "filipe": [Role.SOURCE_CONTACT],
            "graca": [Role.CARRIER],
        }.items()
    }
    today = local_date(now, group.time_zone)
    drum, dome, bag = _digesters(group, people, materials, today, now)
    quay = _place(group, "quay", "Quay market, stall 4", 0, 0, hours=SHOP_HOURS, is_public=True)
    school = _place(group, "school", "Kitchen of the Lime Street school", 300, 200)
    garden = _place(group, "ines", "Garden of Inês", -200, 350)
    yard = _place(group, "allotments", "Compost yard of the allotments", 500, -300, is_public=True)
    stall = save_source(
        group,
        code="quay-stall",
        name="Stall 4 on the quay",
        kind=SourceKind.STALL,
        place=quay,
        contact=people["filipe"],
    )
    for digester, amount_g in ((drum, 2_500), (dome, 4_000)):
        _feed(stall, digester, materials, amount_g, _days_before(today, history_days), now)
    canteen = save_source(
        group, code="school-canteen", name="School canteen", kind=SourceKind.CANTEEN, place=school
    )
    ines = save_source(
        group, code="ines-garden", name="Garden of Inês", kind=SourceKind.GARDEN, place=garden
    )

    def stream(
        source: Source, code: str, material: str, weekday_g: list[int], kept_days: int = 0
    ) -> Stream:
        return save_stream(
            group,
            code=code,
            source=source,
            material=materials[material],
            weekday_g=weekday_g,
            kept_days=kept_days,
        )

    hill = create_group(
        _user("zita"), code="hill", name="Hill quarter", time_zone=ZONE, language="en", now=now
    )
    return Cast(
        group=group,
        now=now,
        ana=ana,
        drum=drum,
        dome=dome,
        bag=bag,
        quay_stall=stall,
        school_canteen=canteen,
        ines_garden=ines,
        vegetables=stream(stall, "quay-vegetables", "veg_market_mixed", [9_000] * 6 + [0], 1),
        citrus=stream(stall, "quay-citrus", "citrus_peel", [2_000] * 6 + [0]),
        peelings=stream(canteen, "canteen-peelings", "potato_tuber_peel", [6_000] * 5 + [0, 0]),
        grass=stream(ines, "ines-grass", "grass", [0, 0, 3_000, 0, 0, 3_000, 0], 2),
        compost=save_destination(
            group,
            code="allotment-compost",
            name="Compost yard of the allotments",
            place=yard,
            capacity_g_per_day=40_000,
        ),
        other_group=hill.group,
        outsider=hill,
        materials=materials,
        **people,
    )


def _user(name: str) -> User:
    return User.objects.create_user(f"{name}@example.org", name=name.capitalize())


def _place(
    group: Group,
    code: str,
    name: str,
    east_m: int,
    north_m: int,
    *,
    hours: list[Window] | None = None,
    is_public: bool = False,
) -> Place:
    """Offsets from an invented point on a coast; 1e-5 degree is about a metre there."""
    return save_place(
        group,
        code=code,
        name=name,
        area="Harbour",
        street=f"{code.capitalize()} Lane 1",
        access_note="Ring twice.",
        latitude=Decimal("38.500000") + Decimal(north_m) * Decimal("0.000009"),
        longitude=Decimal("-9.000000") + Decimal(east_m) * Decimal("0.000012"),
        is_public=is_public,
        hours=hours,
    )


def _digesters(
    group: Group,
    people: dict[str, Member],
    materials: dict[str, Material],
    today: date,
    now: datetime,
) -> list[Digester]:
    specs = (
        ("duarte-drum", "duarte", DigesterKind.FLOATING_DRUM, 1_500_000, StageName.RUNNING, 150),
        ("elsa-dome", "elsa", DigesterKind.FIXED_DOME, 4_000_000, StageName.RUNNING, -250),
        ("heitor-bag", "heitor", DigesterKind.BAG, 3_000_000, StageName.PAUSED, 400),
    )
    digesters = []
    for code, home, kind, volume_ml, stage, east_m in specs:
        digester = add_digester(
            group,
            Digester(
                group=group,
                code=code,
                name=f"{home.capitalize()}'s digester",
                place=_place(group, f"{home}-home", f"Home of {home.capitalize()}", east_m, 100),
                household=people[home],
                kind=kind,
                working_volume_ml=volume_ml,
                rated_feed_g=volume_ml // 250,
                rated_slurry_ml=volume_ml // 50,
                gas_holder_ml=volume_ml // 2,
                drum_diameter_mm=1_200 if kind == DigesterKind.FLOATING_DRUM else None,
                drum_stop_mm=900 if kind == DigesterKind.FLOATING_DRUM else None,
                stage=stage,
                stage_since_on=today - timedelta(days=200 if stage == StageName.RUNNING else 10),
            ),
            now=now,
        )
        set_own_waste(digester, materials["household_kitchen"], 500, now=now)
        digesters.append(digester)
    return digesters


def _days_before(today: date, count: int) -> Iterable[date]:
    return [today - timedelta(days=back) for back in range(count, 0, -1)]


def _feed(
    source: Source,
    digester: Digester,
    materials: dict[str, Material],
    amount_g: int,
    days: Iterable[date],
    now: datetime,
) -> None:
    """Half a kilogram from the own kitchen, the rest collected at `source` the same morning."""
    group = digester.group
    kitchens = shared_account(group, AccountKind.KITCHEN, OWN_KITCHENS)
    own_g = {materials["household_kitchen"]: 500}
    brought_g = {materials["veg_market_mixed"]: amount_g - 500}
    entries = []
    for on in days:
        entries.append(
            Entry(
                kind=PostingKind.PICKUP,
                on=on,
                happened_at=local_instant(on, time(9), group.time_zone),
                client_key=f"cast-{digester.code}-{on}-pickup",
                moves=moves_between(source.account, digester.bin_account, brought_g),
            )
        )
        entries.append(
            Entry(
                kind=PostingKind.FEEDING,
                on=on,
                happened_at=local_instant(on, time(10), group.time_zone),
                client_key=f"cast-{digester.code}-{on}-feeding",
                moves=moves_between(kitchens, digester.account, own_g)
                + moves_between(digester.bin_account, digester.account, brought_g),
                pours=(Pour(digester.account, LiquidKind.WATER, amount_g * 7 // 3),),
            )
        )
    post_history(group, entries, now=now)
