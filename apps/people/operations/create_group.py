"""Found a group; whoever founds it is its first group administrator."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member, Role, User
from apps.people.operations.add_member import add_member

FOUNDER_CODE = "founder"


class CodeTaken(Refused):
    """Another group has this code in its address."""

    code = "code_taken"
    status = 409

    def __init__(self, code: str) -> None:
        super().__init__(
            gettext_noop("“%(code)s” is taken by another group. Choose another short name."),
            field="code",
            figures={"code": code},
        )


@transaction.atomic
def create_group(
    founder: User, *, code: str, name: str, time_zone: str, language: str, now: datetime
) -> Member:
    """Make the group and its first member, who may do everything an administrator does."""
    if Group.objects.filter(code=code).exists():
        raise CodeTaken(code)
    group = Group(code=code, name=name, time_zone=time_zone, language=language)
    group.full_clean()
    group.save()
    member = add_member(
        group,
        code=FOUNDER_CODE,
        name=founder.name,
        roles=[Role.GROUP_ADMIN],
        user=founder,
        language=founder.language,
    )
    record_fact(
        group,
        "group_created",
        happened_at=now,
        subject_uuid=group.uuid,
        actor_uuid=founder.uuid,
    )
    return member
