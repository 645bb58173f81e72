"""Found a group that can start at once: with an administrator and the published materials."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.feedstock.operations.adopt_published_materials import adopt_published_materials
from apps.people.models import Member, User
from apps.people.operations.create_group import create_group


@transaction.atomic
def found_group(
    founder: User, *, code: str, name: str, time_zone: str, language: str, now: datetime
) -> Member:
    """Return the founder's membership. It lives here because `people` knows no materials."""
    member = create_group(
        founder, code=code, name=name, time_zone=time_zone, language=language, now=now
    )
    adopt_published_materials(member.group)
    return member
