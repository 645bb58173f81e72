"""Tell one person one thing.

The row is marked after the gateway took the message: a crash in between sends it once more
under the same key, and never loses it.
"""

from __future__ import annotations

from datetime import UTC, datetime

from django.utils import translation

from apps.groups.models import Work
from apps.notices.channels.email import EmailChannel
from apps.notices.channels.message import Channel, Message
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
        Notice.unscoped.filter(pk=notice.pk).update(state=NoticeState.NO_CHANNEL, sent_at=now)
        return
    with translation.override(notice.member.language):
        words = word_notice(notice, now=now)
    channel.send(Message(str(notice.uuid), address, words.subject, words.text))
    Notice.unscoped.filter(pk=notice.pk).update(
        state=NoticeState.SENT, channel=channel.name, sent_at=now
    )
