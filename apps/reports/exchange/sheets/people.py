"""Members of the group and what they do in it. Accounts come by invitation, not by file."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from apps.groups.models import Group
from apps.kernel.words import gettext_noop
from apps.people.models import Member, MemberRole, Role
from apps.people.operations.change_roles import change_roles
from apps.reports.exchange.cells import Choice, Code, Several, Text
from apps.reports.exchange.number_cells import Thousandths
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing, refusing


def _current(group: Group) -> Mapping[Key, Values]:
    roles: dict[int, list[str]] = defaultdict(list)
    for member_id, role in MemberRole.objects.of(group).values_list("member_id", "role"):
        roles[member_id].append(role)
    return {
        (member.code,): {
            "code": member.code,
            "name": member.name,
            "email": member.email,
            "language": member.language,
            "roles": tuple(sorted(roles[member.pk])),
            "carry_limit_kg": member.carry_limit_g,
        }
        for member in Member.objects.of(group).filter(left_at=None)
    }


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    added = Member.unscoped.bulk_create(
        Member(
            group=writing.group,
            code=row.values["code"],
            name=row.values["name"],
            email=row.values["email"],
            language=row.values["language"] or writing.group.language,
            carry_limit_g=row.values["carry_limit_kg"],
        )
        for row in new
    )
    MemberRole.unscoped.bulk_create(
        MemberRole(group=writing.group, member=member, role=role)
        for member, row in zip(added, new, strict=True)
        for role in row.values["roles"]
    )
    members = writing.rows(Member)

    def change(row: Row) -> None:
        member = members[row.values["code"]]
        member.name = row.values["name"]
        member.email = row.values["email"]
        member.language = row.values["language"] or writing.group.language
        member.carry_limit_g = row.values["carry_limit_kg"]
        member.save()
        held = {each.role for each in MemberRole.objects.of(writing.group).filter(member=member)}
        if held != set(row.values["roles"]):
            roles = [Role(role) for role in row.values["roles"]]
            change_roles(member, roles, by=writing.by or member, now=writing.now)

    refusing(changed, change)


PEOPLE = Sheet(
    name="people",
    title=gettext_noop("People"),
    about=gettext_noop(
        "Members and what they do. Invite them afterwards, so that they can sign in."
    ),
    key=("code",),
    columns=(
        Column(
            "code", Code(), gettext_noop("Short code, unique in the group, like maria-2."), True
        ),
        Column("name", Text(120), gettext_noop("Name as people know it."), True),
        Column("email", Text(254), gettext_noop("E-mail address."), default=""),
        Column("language", Text(10), gettext_noop("Language code, like en or es."), default=""),
        Column(
            "roles",
            Several(Choice(tuple(Role.values))),
            gettext_noop("Roles, a semicolon between."),
            default=(),
        ),
        Column(
            "carry_limit_kg",
            Thousandths("kg", least=500, most=25_000),
            gettext_noop("Most kilograms the person carries at once; 15 when empty."),
            default=15_000,
        ),
    ),
    current=_current,
    write=_write,
)
