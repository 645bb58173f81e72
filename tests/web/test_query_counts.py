"""Every list page costs as many statements at a thousand rows as at ten."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import count

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from apps.digesters.models import Digester
from apps.feedstock.models import Material
from apps.ledger.models import Account, AccountKind
from apps.people.models import Member, MemberRole, Role
from apps.places.models import Place
from apps.planning.models import Assignment, DailyFeed, LeftOver, Plan, PlanStatus
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from apps.supply.models import Source, Stream
from tests.cast import Cast, make_cast

FEW, MANY = 10, 1_000

_numbers = count(1)


def _places(cast: Cast, rows: int) -> list[Place]:
    return Place.unscoped.bulk_create(
        Place(
            group=cast.group,
            code=f"place-{next(_numbers)}",
            name="More",
            latitude=Decimal("38.7"),
            longitude=Decimal("-9.14"),
        )
        for _ in range(rows)
    )


def _accounts(cast: Cast, kind: str, codes: list[str]) -> list[Account]:
    return Account.unscoped.bulk_create(
        Account(group=cast.group, kind=kind, code=code, name=code) for code in codes
    )


def _sources(cast: Cast, rows: int) -> list[Source]:
    codes = [f"more-{next(_numbers)}" for _ in range(rows)]
    return Source.unscoped.bulk_create(
        Source(
            group=cast.group, code=code, name=code, kind="stall", place=place, account=account,
            contact=cast.filipe,
        )
        for code, place, account in zip(
            codes, _places(cast, rows), _accounts(cast, AccountKind.SOURCE, codes), strict=True
        )
    )  # fmt: skip


def _streams(cast: Cast, rows: int) -> list[Stream]:
    return Stream.unscoped.bulk_create(
        Stream(
            group=cast.group,
            code=f"stream-{source.code}",
            source=source,
            material=cast.vegetables.material,
            monday_g=5_000,
        )
        for source in _sources(cast, rows)
    )


def _people(cast: Cast, rows: int) -> None:
    members = Member.unscoped.bulk_create(
        Member(group=cast.group, code=f"person-{next(_numbers)}", name="More") for _ in range(rows)
    )
    MemberRole.unscoped.bulk_create(
        MemberRole(group=cast.group, member=member, role=Role.CARRIER) for member in members
    )


def _materials(cast: Cast, rows: int) -> None:
    Material.unscoped.bulk_create(
        Material(group=cast.group, code=f"material-{next(_numbers)}", name="More")
        for _ in range(rows)
    )


def _digesters(cast: Cast, rows: int) -> list[Digester]:
    codes = [f"tank-{next(_numbers)}" for _ in range(rows)]
    accounts = _accounts(cast, AccountKind.DIGESTER, codes)
    bins = _accounts(cast, AccountKind.BIN, [f"bin-{code}" for code in codes])
    return Digester.unscoped.bulk_create(
        Digester(
            group=cast.group, code=code, name=code, place=place, account=account,
            bin_account=bin_account, kind="bag",
            working_volume_ml=1_000_000, rated_feed_g=4_000, rated_slurry_ml=20_000,
            stage="running", stage_since_on=cast.today - timedelta(days=90),
        )
        for code, place, account, bin_account in zip(
            codes, _places(cast, rows), accounts, bins, strict=True
        )
    )  # fmt: skip


def _plan_rows(cast: Cast, rows: int) -> None:
    """As many assignments, daily feeds and left-overs in the announced plan, and in its
    document."""
    plan = Plan.objects.of(cast.group).get(status=PlanStatus.ANNOUNCED)
    streams, homes = _streams(cast, rows), _digesters(cast, rows)
    digester_row = plan.document["digesters"][0]
    source_row = plan.document["sources"][0]
    batch_row = plan.document["batches"][0]
    pair_row = plan.document["pairs"][0]
    day_rows = [
        row for row in plan.document["digester_days"] if row["digester"] == digester_row["code"]
    ]
    for stream, home in zip(streams, homes, strict=True):
        batch = f"{stream.code}@{cast.today.isoformat()}"
        plan.document["digesters"].append({**digester_row, "code": home.code, "stock": []})
        plan.document["digester_days"] += [{**row, "digester": home.code} for row in day_rows]
        plan.document["sources"].append({**source_row, "code": stream.source.code})
        plan.document["batches"].append({**batch_row, "code": batch, "source": stream.source.code})
        plan.document["pairs"].append(
            {**pair_row, "source": stream.source.code, "digester": home.code}
        )
        plan.document["left_over"].append(
            {**_LEFT_ROW, "lot": batch, "source": stream.source.code,
             "material": batch_row["material"]}
        )  # fmt: skip
    plan.save()
    Assignment.unscoped.bulk_create(
        Assignment(
            group=cast.group, plan=plan, stream=stream, source=stream.source, digester=home,
            batch_on=cast.today, on=cast.today, amount_g=1_000, distance_m=100,
            from_min=480, till_min=600,
        )
        for stream, home in zip(streams, homes, strict=True)
    )  # fmt: skip
    DailyFeed.unscoped.bulk_create(
        DailyFeed(
            group=cast.group, plan=plan, digester=home, on=cast.today, feed_g=1_000, feed_vs_g=100,
            slurry_ml=2_000, water_ml=1_000, max_feed_g=4_000, max_vs_g=500, max_slurry_ml=20_000,
            target_vs_g=300,
        )
        for home in homes
    )  # fmt: skip
    LeftOver.unscoped.bulk_create(
        LeftOver(
            group=cast.group, plan=plan, stream=stream, batch_on=cast.today, amount_g=500,
            destination=cast.compost,
        )
        for stream in streams
    )  # fmt: skip


_LEFT_ROW = {
    "amount_g": 500,
    "reason_code": "day_maximum",
    "reason": "",
    "smallest_change": "",
    "destination": None,
    "destination_code": None,
    "goes_on": None,
}


def _plans(cast: Cast, rows: int) -> None:
    first = Plan.objects.of(cast.group).count() + 1
    Plan.unscoped.bulk_create(
        Plan(
            group=cast.group, version=first + number, status=PlanStatus.SUPERSEDED,
            starts_on=cast.today, made_at=cast.now, made_by=cast.bruno, input_hash="", document={},
        )
        for number in range(rows)
    )  # fmt: skip


GROWN: list[tuple[Callable[[Cast, int], object], dict[str, str]]] = [
    (_people, {"people/": "ana"}),
    (_materials, {"materials/": "ana"}),
    (_places, {"places/": "ana"}),
    (_streams, {"sources/": "ana", "map/": "carla"}),
    (_plans, {"plans/": "bruno"}),
    (_digesters, {"digesters/": "carla"}),
    (
        _plan_rows,
        {
            "week/?by=source": "bruno",
            "week/?by=home": "bruno",
            "week/?by=day": "bruno",
            "week/?by=left": "bruno",
        },
    ),
]
"""What grows, and each page that lists it with somebody who looks at it."""


@pytest.mark.one_database
@pytest.mark.parametrize(("grow", "pages"), GROWN, ids=lambda each: getattr(each, "__name__", ""))
def test_a_thousand_rows_cost_no_more_statements_than_ten(
    db: None, grow: Callable[[Cast, int], object], pages: dict[str, str]
) -> None:
    now = datetime.now(UTC)
    cast = make_cast(now, history_days=1)
    if grow is _plan_rows:
        # One day keeps the rows few enough for a test.
        announce_plan(make_plan(cast.group, now=now, starts_on=cast.today, days=1), now=now)

    def statements() -> dict[str, int]:
        return {address: _statements(cast, address, who) for address, who in pages.items()}

    grow(cast, FEW)
    few = statements()
    grow(cast, MANY - FEW)
    assert statements() == few


def _statements(cast: Cast, address: str, who: str) -> int:
    client = Client()
    client.force_login(getattr(cast, who).user)
    with CaptureQueriesContext(connection) as queries:
        assert client.get(f"/g/harbour/{address}").status_code == 200
    return len(queries)
