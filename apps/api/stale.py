"""Edits that say which version they change (RFC 9110: ETag and If-Match)."""

from __future__ import annotations

import hashlib
from typing import Any

from django.utils.translation import gettext as _
from rest_framework.renderers import JSONRenderer

from apps.kernel.errors import Refused


class Stale(Refused):
    """The thing is not any more as the sender had read it."""

    code = "stale"
    status = 412


class NoVersions(Refused):
    """What is changed here cannot be read here, so there is nothing to compare with."""

    code = "no_versions"

    def __init__(self) -> None:
        super().__init__(_("This address has no versions. Send the change without If-Match."))


def entity_tag(data: Any) -> str:
    """Of a representation: same content, same tag."""
    return f'"{hashlib.sha256(JSONRenderer().render(data)).hexdigest()[:32]}"'


def check_tag(wanted: str, current: Any) -> None:
    """Refuse when none of the tags in `wanted` is the current one; None: it is not there."""
    tags = {tag.strip().removeprefix("W/") for tag in wanted.split(",")}
    if current is None or (tags != {"*"} and entity_tag(current) not in tags):
        raise Stale(_("Somebody changed this since you read it. Read it again, then change it."))
