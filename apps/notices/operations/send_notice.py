"""Tell one person one thing.

The row is marked after the gateway took the message: a crash in between sends it once more
under the same key, and never loses it. A gateway that fails is tried again, later each time;
after the last attempt the notice says so, and the coordinator's page shows it.
"""

from __future__ import annotations

from datetime import UTC, datetime

from django.utils import translation

from apps.groups.models import Work
from apps.groups.operations.do_work import MOST_ATTEMPTS
from apps.notices.channels.email import EmailChannel
from apps.notices.channels.message import Channel, CouldNotSend, Message
from apps.notices.models import Notice, NoticeState
from apps.notices.wording import word_notice


def send_notice(work: Work, channel: Channel | None = None) -> None:
    """Consumer of `send_notice` work; a repeat of a sent notice does nothing."""
    channel = channel or EmailChannel()
    notice = (
        Notice.objects.of(work.group)
        .select_related("member__user", "group")
        .get(uuid=work.payload["notice"])
    )
    if notice.state != NoticeState.WAITING:
        return
    address = notice.member.user.email if notice.member.user else notice.member.email
    now = datetime.now(UTC)
    if not address:
        _mark(notice, NoticeState.NO_CHANNEL, "", now)
        return
    with translation.override(notice.member.language):
        words = word_notice(notice, now=now)
    try:
        channel.send(Message(str(notice.uuid), address, words.subject, words.text))
    except CouldNotSend:
        if work.attempts >= MOST_ATTEMPTS:
            _mark(notice, NoticeState.FAILED, channel.name, now)
        raise
    _mark(notice, NoticeState.SENT, channel.name, now)


def _mark(notice: Notice, state: NoticeState, channel: str, now: datetime) -> None:
    Notice.unscoped.filter(pk=notice.pk, state=NoticeState.WAITING).update(
        state=state, channel=channel, sent_at=now
    )
