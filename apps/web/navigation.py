"""Which links somebody sees, by the roles held in the group."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from apps.people.access import Admission
from apps.people.models import Role


@dataclass(frozen=True, slots=True)
class Entry:
    """One link of the navigation; no roles: for every member."""

    label: Promise
    name: str
    roles: frozenset[Role] = frozenset()


@dataclass(frozen=True, slots=True)
class ShownEntry:
    """A link as it stands on one page."""

    label: Promise
    address: str
    is_current: bool


ADMIN, ASSIGNER, COORDINATOR = Role.GROUP_ADMIN, Role.ASSIGNER, Role.COORDINATOR

ENTRIES: tuple[Entry, ...] = (
    Entry(_("Start"), "group-home"),
    Entry(_("My day"), "my-day", frozenset({Role.HOUSEHOLDER, Role.SOURCE_CONTACT})),
    Entry(_("My round"), "my-round", frozenset({Role.CARRIER})),
    Entry(_("Today"), "today", frozenset({ASSIGNER, COORDINATOR})),
    Entry(_("My week"), "my-week", frozenset({Role.HOUSEHOLDER, Role.SOURCE_CONTACT})),
    Entry(_("Plan"), "week", frozenset({ASSIGNER, COORDINATOR})),
    Entry(_("Rounds"), "rounds", frozenset({ASSIGNER, COORDINATOR})),
    Entry(_("Digesters"), "digesters", frozenset({COORDINATOR, ASSIGNER, ADMIN})),
    Entry(_("Map"), "map", frozenset({COORDINATOR, ASSIGNER, ADMIN})),
    Entry(_("Sources"), "sources", frozenset({COORDINATOR, ASSIGNER, ADMIN})),
)


def entries_for(admission: Admission, path: str) -> list[ShownEntry]:
    """The links of one person in the group of the page, the current one marked."""
    if admission.group is None or admission.member is None:
        return []
    shown = []
    for entry in ENTRIES:
        if entry.roles and not entry.roles & admission.roles:
            continue
        address = reverse(entry.name, kwargs={"group": admission.group.code})
        current = path == address if entry.name == "group-home" else path.startswith(address)
        shown.append(ShownEntry(entry.label, address, current))
    return shown
