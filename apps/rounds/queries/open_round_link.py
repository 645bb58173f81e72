"""Whose round a link opens; reading it changes nothing."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext_lazy as _

from apps.kernel.errors import Refused
from apps.people.models import hash_token
from apps.pickups.queries.open_day_link import TOKEN_LENGTH
from apps.pickups.queries.who_to_ask import whom_to_ask
from apps.rounds.models import RoundLink, RoundState


class RoundLinkOver(Refused):
    """The link is unknown, too old, or the round went to somebody else."""

    code = "round_link_over"
    status = 410


def open_round_link(token: str, *, now: datetime) -> RoundLink:
    """Return the link, or raise `RoundLinkOver` with whom to ask."""
    link: RoundLink | None = None
    if len(token) == TOKEN_LENGTH:
        link = (
            RoundLink.unscoped.select_related(
                "group", "member__user", "round__carrier__member", "round__group"
            )
            .filter(token_hash=hash_token(token))
            .first()
        )
    if link is None:
        raise RoundLinkOver(_("This link is not known. Open the newest message from your group."))
    is_theirs = link.round.carrier.member_id == link.member_id and link.member.left_at is None
    if link.ended_at is not None or not is_theirs or link.round.state == RoundState.DROPPED:
        raise RoundLinkOver(
            _("This round went to somebody else in %(group)s. Ask %(name)s."),
            figures={"group": link.group.name, "name": whom_to_ask(link.group)},
        )
    if now >= link.expires_at:
        raise RoundLinkOver(
            _("This link was for %(day)s and is over. Open the newest message from %(group)s."),
            figures={"day": link.round.on.isoformat(), "group": link.group.name},
        )
    return link
