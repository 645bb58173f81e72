"""Past feedings: what went into a digester on a day. Facts: added, never changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, time

from django.db.models import Max, Min

from apps.digesters.models import Digester
from apps.feedstock.models import Material
from apps.groups.models import Group
from apps.kernel.days import local_instant
from apps.kernel.words import gettext_noop
from apps.ledger.models import AccountKind, LiquidKind, Posting, PostingKind
from apps.ledger.operations.entry import Entry, Pour, moves_between
from apps.ledger.operations.open_account import OWN_KITCHENS, shared_account
from apps.ledger.operations.post import post_history
from apps.ledger.queries.grams_per_day import fed_per_day, liquids_per_day, own_waste_per_day
from apps.reports.exchange.cells import Code, Day, YesNo
from apps.reports.exchange.number_cells import Thousandths
from apps.reports.exchange.past import client_key, not_after_today, refuse_change
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing

IN_THE_EVENING = time(18)
"""When it happened on its day; the file does not tell."""


def _current(group: Group) -> Mapping[Key, Values]:
    """The water of a day stands in each of its rows."""
    digesters = dict(Digester.objects.of(group).values_list("account_id", "code"))
    span = Posting.objects.of(group).aggregate(first=Min("on"), last=Max("on"))
    if span["first"] is None:
        return {}
    days = (group, digesters.keys(), span["first"], span["last"])
    water = liquids_per_day(group, LiquidKind.WATER, digesters.keys(), span["first"], span["last"])
    own = own_waste_per_day(*days)
    found: dict[Key, Values] = {}
    for (account_id, on), fed in fed_per_day(*days).items():
        kitchen = own.get((account_id, on), {})
        parts = {
            **{(code, "no"): g - kitchen.get(code, 0) for code, g in fed.items()},
            **{(code, "yes"): g for code, g in kitchen.items()},
        }
        water_ml = water.get((account_id, on), 0)
        for (code, is_own), amount_g in sorted(parts.items()):
            if amount_g > 0:
                found[digesters[account_id], on.isoformat(), code, is_own] = {
                    "digester": digesters[account_id],
                    "on": on,
                    "material": code,
                    "own_kitchen": is_own == "yes",
                    "amount_kg": amount_g,
                    "water_l": water_ml,
                }
    return found


def _check(row: Row, current: Values | None, today: date) -> None:
    not_after_today(row, today)
    if current is None:
        return
    if current["amount_kg"] != row.values["amount_kg"]:
        refuse_change("amount_kg", current["amount_kg"], "kg", row.values["on"])
    refuse_change("water_l", current["water_l"], "L", row.values["on"])


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    group = writing.group
    materials = writing.rows(Material)
    kitchens = shared_account(group, AccountKind.KITCHEN, OWN_KITCHENS)
    digesters = {
        digester.code: digester
        for digester in Digester.objects.of(group).select_related("account", "bin_account")
    }
    by_day: dict[tuple[date, str], list[Values]] = defaultdict(list)
    for row in new:
        by_day[row.values["on"], row.values["digester"]].append(row.values)
    days = sorted(on for on, _code in by_day)
    accounts = [digester.account_id for digester in digesters.values()]
    recorded_ml = liquids_per_day(group, LiquidKind.WATER, accounts, days[0], days[-1])
    entries = []
    for (on, code), rows in sorted(by_day.items()):
        digester = digesters[code]
        amounts = {
            is_own: {
                materials[values["material"]]: values["amount_kg"]
                for values in rows
                if values["own_kitchen"] is is_own
            }
            for is_own in (False, True)
        }
        # The column is the day's total: only what is not recorded yet is added.
        total_ml = max(values["water_l"] for values in rows)
        water_ml = max(0, total_ml - recorded_ml.get((digester.account_id, on), 0))
        entries.append(
            Entry(
                kind=PostingKind.FEEDING,
                on=on,
                happened_at=min(local_instant(on, IN_THE_EVENING, group.time_zone), writing.now),
                client_key=client_key(),
                moves=moves_between(digester.bin_account, digester.account, amounts[False])
                + moves_between(kitchens, digester.account, amounts[True]),
                pours=(Pour(digester.account, LiquidKind.WATER, water_ml),) if water_ml else (),
                recorded_by_uuid=writing.by.uuid if writing.by else None,
            )
        )
    post_history(group, entries, now=writing.now)


FEEDINGS = Sheet(
    name="feedings",
    title=gettext_noop("Past feedings"),
    about=gettext_noop("What went into a digester, day by day; loading is reckoned from it."),
    key=("digester", "on", "material", "own_kitchen"),
    columns=(
        Column(
            "digester", Code(), gettext_noop("Code of the digester."), True, refers_to="digesters"
        ),
        Column("on", Day(), gettext_noop("Day, like 2026-05-31."), True),
        Column(
            "material", Code(), gettext_noop("Code of the material."), True, refers_to="materials"
        ),
        Column(
            "own_kitchen",
            YesNo(),
            gettext_noop("yes for the home's own kitchen waste; no when empty."),
            default=False,
        ),
        Column("amount_kg", Thousandths("kg", least=1), gettext_noop("Kilograms fed."), True),
        Column(
            "water_l",
            Thousandths("L"),
            gettext_noop(
                "Litres of water of that whole day, the same in each of its rows; 0 when empty."
            ),
            default=0,
        ),
    ),
    current=_current,
    write=_write,
    check=_check,
)
