"""One digester as its household sees it: what went in, what it still can take, gas, the week."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from apps.digesters.core.day_limits import Limit
from apps.digesters.models import Digester
from apps.digesters.queries.gas_now import GasNow, gas_now
from apps.digesters.queries.lighting import why_not_light
from apps.kernel.days import local_date
from apps.kernel.sentences import Sentence
from apps.ledger.models import LiquidKind
from apps.ledger.queries.balances import balances_g
from apps.ledger.queries.grams_per_day import fed_per_day, liquids_per_day
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.planning.queries.digester_board import BoardRow, digester_board

PAST_DAYS = 7
NEXT_DAYS = 7


@dataclass(frozen=True, slots=True)
class FedDay:
    """Grams by material code, and water, of one day."""

    on: date
    fed_g: Mapping[str, int]
    water_ml: int


@dataclass(frozen=True, slots=True)
class DigesterPicture:
    """`spare_g` of usual market waste still fits today, and `binding` says why not more. `gas`
    is None until somebody has read the holder; `not_to_light` says why nothing may be lit."""

    digester: Digester
    on: date
    fed: Sequence[FedDay]
    in_bin_g: Mapping[str, int]
    spare_g: int
    binding: Limit
    gas: GasNow | None
    not_to_light: Sentence | None
    pickups: Mapping[date, Sequence[Pickup]]
    board: BoardRow


def digester_picture(digester: Digester, *, now: datetime) -> DigesterPicture:
    """A constant number of queries."""
    group = digester.group
    today = local_date(now, group.time_zone)
    first = today - timedelta(days=PAST_DAYS - 1)
    account = digester.account_id
    fed = fed_per_day(group, [account], first, today)
    water = liquids_per_day(group, LiquidKind.WATER, [account], first, today)
    [row] = digester_board(group, today, codes=[digester.code])
    return DigesterPicture(
        digester=digester,
        on=today,
        fed=[
            FedDay(on, fed.get((account, on), {}), water.get((account, on), 0))
            for on in (first + timedelta(days=late) for late in range(PAST_DAYS))
        ],
        in_bin_g=balances_g(group, [digester.bin_account_id]).get(digester.bin_account_id, {}),
        spare_g=row.spare_g,
        binding=row.binding,
        gas=gas_now(digester, now),
        not_to_light=why_not_light(digester),
        pickups=_pickups(digester, today),
        board=row,
    )


def _pickups(digester: Digester, today: date) -> dict[date, list[Pickup]]:
    by_day: dict[date, list[Pickup]] = {
        today + timedelta(days=late): [] for late in range(NEXT_DAYS)
    }
    rows = (
        Pickup.objects.of(digester.group)
        .filter(digester=digester, on__range=(min(by_day), max(by_day)))
        .exclude(state=State.WITHDRAWN)
        .select_related("source__place", "fetcher")
        .prefetch_related("lines__stream__material")
    )
    for pickup in rows:
        by_day[pickup.on].append(pickup)
    return by_day
