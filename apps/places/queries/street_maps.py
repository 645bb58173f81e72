"""The streets a group uses, read from its row once a process."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from apps.groups.models import Group
from apps.places.core.streets.named import Named, unpack_names
from apps.places.core.streets.network import Network, unpack_network
from apps.places.core.streets.streets import Streets
from apps.places.core.streets.tags import Mode
from apps.places.models import ExtractState, StreetExtract

ATTRIBUTION = "© OpenStreetMap contributors, ODbL"
"""Shown wherever the extract's streets, ways or names are (Open Database License 1.0, 4.3)."""

BLOBS = ("raw", "network", "names")


@dataclass(frozen=True)
class StreetMap:
    """An extract in use. Equal for equal files of one group, so that it can be a cache's key."""

    extract_id: int
    sha256: str

    def network(self) -> Network:
        """Every stretch."""
        return _network(self)

    def names(self) -> tuple[Named, ...]:
        """What somebody may look for."""
        return _names(self)

    def streets(self, by: Mode) -> Streets:
        """Ready for measuring ways."""
        return _streets(self, by)


def street_map(group: Group) -> StreetMap | None:
    """None: the group has no streets; ways are straight lines times the detour factor. One
    query; the streets themselves are fetched once a process."""
    found = (
        StreetExtract.objects.of(group)
        .filter(state=ExtractState.IN_USE)
        .values_list("pk", "sha256")
        .first()
    )
    return StreetMap(*found) if found else None


def extracts(group: Group) -> list[StreetExtract]:
    """The group's extracts, the last one sent first, without their contents."""
    return list(StreetExtract.objects.of(group).defer(*BLOBS).select_related("sent_by"))


@lru_cache(maxsize=4)
def _network(key: StreetMap) -> Network:
    return unpack_network(bytes(_blob(key, "network")))


@lru_cache(maxsize=4)
def _names(key: StreetMap) -> tuple[Named, ...]:
    return unpack_names(bytes(_blob(key, "names")))


@lru_cache(maxsize=8)
def _streets(key: StreetMap, by: Mode) -> Streets:
    return Streets(_network(key), by)


def _blob(key: StreetMap, name: str) -> bytes:
    blob: bytes = StreetExtract.unscoped.values_list(name, flat=True).get(
        pk=key.extract_id, sha256=key.sha256
    )
    return blob
