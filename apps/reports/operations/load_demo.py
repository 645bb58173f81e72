"""Load the demo neighbourhood, as if a group had imported its own files until yesterday."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from django.db import transaction
from django.db.models import Max

from apps.digesters.models import Reading
from apps.feedstock.operations.found_group import found_group
from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.ledger.models import Posting
from apps.people.models import Member, Role, User
from apps.places.operations.import_streets import import_streets
from apps.places.operations.read_streets import read_extract_row
from apps.reports.exchange.apply_import import apply_import
from apps.reports.exchange.sheets import SHEETS
from apps.supply.models import Offer

DEMO = Path(__file__).resolve().parents[3] / "fixtures" / "demo"

DATES = ("on", "first_on", "last_on", "stage_since_on")
"""Columns that are shifted."""

PAST = frozenset({"collections", "feedings", "readings"})
"""Sheets of which nothing may lie in the future."""

GROWING = frozenset({"collections", "feedings", "offers", "readings"})
"""Sheets that are added to when the demo is loaded again on a later day."""

OPERATOR_EMAIL = "operator@example.org"

ACCOUNT_OF_ROLE = {
    Role.GROUP_ADMIN: "vera-atalaia",
    Role.ASSIGNER: "sergio-mira",
    Role.COORDINATOR: "nadia-corda",
    Role.HOUSEHOLDER: "adela-morim",
    Role.SOURCE_CONTACT: "bruno-taveira",
    Role.CARRIER: "rui-passada",
}
"""Who of the demo's people can sign in, by the code of the member."""


@dataclass(frozen=True, slots=True)
class Demo:
    """The group; one account for each kind of user; the operator's; whether it was new."""

    group: Group
    accounts: dict[Role, User]
    operator: User
    is_new: bool


@transaction.atomic
def load_demo(*, now: datetime, directory: Path = DEMO) -> Demo:
    """Idempotent. On a later day only the days since are added."""
    about = json.loads((directory / "group.json").read_text(encoding="utf-8"))
    last_on = date.fromisoformat(about.pop("last_on"))
    operator = _account(OPERATOR_EMAIL, "Operator", "en", is_operator=True)
    group = Group.objects.filter(code=about["code"]).first()
    is_new = group is None
    if group is None:
        group = _found(about, directory, now)
    today = local_date(now, group.time_zone)
    shift = shift_days(last_on, today - timedelta(days=1))
    recorded_on = Posting.objects.of(group).aggregate(last=Max("on"))["last"]
    offered_on = Offer.objects.of(group).aggregate(last=Max("on"))["last"]
    read_on = Reading.objects.of(group).aggregate(last=Max("on"))["last"]
    last_of = {"offers": offered_on, "readings": read_on}
    for name in SHEETS:
        path = directory / f"{name}.csv"
        if not path.exists() or not (is_new or name in GROWING):
            continue
        after = None if is_new else last_of.get(name, recorded_on)
        before = today if name in PAST else None
        text = shift_dates(path.read_text(encoding="utf-8"), shift, after=after, before=before)
        apply_import(group, name, text.encode(), now=now)
    if is_new:
        _bring_in_streets(group, directory / "streets.osm.pbf", now)
    accounts = {role: _sign_in(group, code) for role, code in ACCOUNT_OF_ROLE.items()}
    return Demo(group, accounts, operator, is_new)


def shift_days(last_on: date, yesterday: date) -> int:
    """The least whole number of weeks, in days, that brings `last_on` to `yesterday` or later."""
    return -((last_on - yesterday).days // 7) * 7


def shift_dates(
    text: str, days: int, *, after: date | None = None, before: date | None = None
) -> str:
    """Shift the date columns of a CSV; keep rows whose `on` lies after and before the bounds."""
    reader = csv.DictReader(io.StringIO(text))
    shifted = io.StringIO()
    writer = csv.DictWriter(shifted, reader.fieldnames or ())
    writer.writeheader()
    for row in reader:
        for name in DATES:
            if row.get(name):
                on = date.fromisoformat(row[name]) + timedelta(days=days)
                row[name] = on.isoformat()
        on_text = row.get("on", "")
        if after is not None and on_text and on_text <= after.isoformat():
            continue
        if before is not None and on_text and on_text >= before.isoformat():
            continue
        writer.writerow(row)
    return shifted.getvalue()


def _found(about: dict[str, object], directory: Path, now: datetime) -> Group:
    """The group with its own settings. Its founder is the administrator of the people's sheet,
    so the founder's row takes that person's code before the sheet is read."""
    people = csv.DictReader(io.StringIO((directory / "people.csv").read_text(encoding="utf-8")))
    founder = next(row for row in people if row["roles"] == Role.GROUP_ADMIN.value)
    member = found_group(
        _account(founder["email"], founder["name"], founder["language"]),
        code=str(about["code"]),
        name=str(about["name"]),
        time_zone=str(about["time_zone"]),
        language=str(about["language"]),
        now=now,
    )
    member.code = founder["code"]
    member.save(update_fields=["code"])
    group = member.group
    for name, value in about.items():
        setattr(group, name, value)
    group.full_clean()
    group.save()
    return group


def _bring_in_streets(group: Group, path: Path, now: datetime) -> None:
    """Read at once, so that the first plan already goes by them."""
    if path.exists():
        sent = import_streets(group, path.read_bytes(), file_name=path.name, now=now)
        read_extract_row(sent, now=now)


def _sign_in(group: Group, code: str) -> User:
    """Give the member an account, unless it has one."""
    member = Member.objects.of(group).select_related("user").get(code=code)
    if member.user is None:
        member.user = _account(member.email, member.name, member.language)
        member.save(update_fields=["user"])
    return member.user


def _account(email: str, name: str, language: str, *, is_operator: bool = False) -> User:
    user = User.objects.filter(email=email).first()
    return user or User.objects.create_user(
        email, name=name, language=language, is_operator=is_operator
    )
