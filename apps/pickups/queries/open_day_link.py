"""Whose page a link opens; reading it changes nothing."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext_lazy as _

from apps.kernel.errors import Refused
from apps.people.models import hash_token
from apps.pickups.core.life import HAND_OVER, TAKE_OVER
from apps.pickups.models import DayLink, Pickup, Standby
from apps.pickups.queries.who_to_ask import whom_to_ask

TOKEN_LENGTH = 22
"""Characters of 16 random bytes in URL-safe base 64 without padding (RFC 4648, section 5)."""


class DayLinkOver(Refused):
    """The link is unknown, too old, or the task went to somebody else."""

    code = "day_link_over"
    status = 410
    link: DayLink | None = None
    """The one that was issued once and has ended; None for an unknown one."""

    def of(self, link: DayLink) -> DayLinkOver:
        """Itself, knowing the link."""
        self.link = link
        return self


def open_day_link(token: str, *, now: datetime) -> DayLink:
    """Return the link, or raise `DayLinkOver` with whom to ask."""
    link = (
        DayLink.unscoped.select_related(
            "group", "member__user", "digester__place", "digester__household", "source__place"
        )
        .filter(token_hash=hash_token(token))
        .first()
        if len(token) == TOKEN_LENGTH
        else None
    )
    if link is None:
        raise DayLinkOver(_("This link is not known. Open the newest message from your group."))
    if link.ended_at is not None or _went_elsewhere(link):
        raise DayLinkOver(
            _("This task went to somebody else in %(group)s. Ask %(name)s."),
            figures={"group": link.group.name, "name": whom_to_ask(link.group)},
        ).of(link)
    if now >= link.expires_at:
        raise DayLinkOver(
            _("This link was for %(day)s and is over. Open the newest message from %(group)s."),
            figures={"day": link.on.isoformat(), "group": link.group.name},
        ).of(link)
    return link


def _went_elsewhere(link: DayLink) -> bool:
    """Whether the person no longer looks after what the link is about."""
    if link.member.left_at is not None:
        return True
    if link.digester is None:
        return bool(link.source.contact_id != link.member_id)
    return bool(link.digester.household_id != link.member_id) and not helps(link)


def helps(link: DayLink) -> bool:
    """Whether a pickup of that home and day was given to the person, or they are on standby."""
    return (
        Pickup.objects.of(link.group)
        .filter(
            digester=link.digester_id,
            on=link.on,
            fetcher=link.member_id,
            events__step__in=(HAND_OVER.name, TAKE_OVER.name),
        )
        .exists()
        or Standby.objects.of(link.group).filter(member=link.member_id).exists()
    )
