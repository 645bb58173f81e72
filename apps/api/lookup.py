"""The thing an address names, in the group of the address; another group's is not there."""

from __future__ import annotations

from typing import Any, TypeVar
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404
from django.utils.translation import gettext as _

from apps.groups.models import Coded, GroupScoped

C = TypeVar("C", bound=Coded)
S = TypeVar("S", bound=GroupScoped)


def by_code(rows: QuerySet[C] | Any, code: str) -> C:
    """The row of this code among a group's `rows`, or 404 in words."""
    found: C | None = rows.filter(code=code).first()
    if found is None:
        raise Http404(
            _("There is no %(kind)s “%(code)s” in this group.")
            % {"kind": rows.model._meta.verbose_name, "code": code[:60]}
        )
    return found


def by_uuid(rows: QuerySet[S] | Any, uuid: UUID) -> S:
    """The row of this identifier among a group's `rows`, or 404 in words."""
    found: S | None = rows.filter(uuid=uuid).first()
    if found is None:
        raise Http404(
            _("There is no %(kind)s %(uuid)s in this group.")
            % {"kind": rows.model._meta.verbose_name, "uuid": uuid}
        )
    return found
