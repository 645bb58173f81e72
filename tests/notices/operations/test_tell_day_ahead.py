"""Messages of the evening before: nothing twice, nothing lost, changes only to those concerned."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core import mail

from apps.groups.models import Work
from apps.groups.operations.do_work import MOST_ATTEMPTS, do_work
from apps.notices.channels.email import EmailChannel
from apps.notices.channels.message import CouldNotSend, Message
from apps.notices.models import Notice, NoticeState
from apps.notices.operations.send_notice import send_notice
from apps.notices.operations.tell_day_ahead import tell_changes, tell_day_ahead, tell_of_day
from apps.pickups.core.life import DECLINE, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.open_day_link import open_day_link
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast(settings) -> Cast:
    """Duarte and Elsa both fetch at the quay tomorrow; mail stays in memory."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    cast = make_cast(history_days=0)
    plan = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_000), (cast.vegetables, cast.dome, 0, 4_000)]
    )
    sync_pickups(plan, now=cast.now)
    return cast


def tell(cast: Cast) -> None:
    tell_of_day(cast.group, cast.today + timedelta(days=1), cast.now)


def send_all() -> None:
    for work in Work.unscoped.filter(kind="send_notice", done_at=None):
        do_work(work.pk)


def messages(address: str) -> list:
    return [each for each in mail.outbox if each.to == [address]]


def test_everybody_concerned_is_told_once_with_a_link_of_their_own(cast):
    for _time in range(2):
        tell(cast)
        send_all()
    [duarte] = messages("duarte@example.org")
    assert duarte.subject == "Duarte's digester: Tuesday 12 May"
    assert "Pick up at Stall 4 on the quay, between 09:00 and 12:00:" in duarte.body
    assert "  3 kg" in duarte.body
    assert "\n\n\n" not in duarte.body
    assert cast.drum.place.street not in duarte.body
    [token] = re.findall(r"/day/([\w-]{22})/", duarte.body)
    link = open_day_link(token, now=cast.now)
    assert (link.member, link.digester) == (cast.duarte, cast.drum)
    [filipe] = messages("filipe@example.org")
    assert filipe.body.count("Somebody for") == 2
    assert len(messages("elsa@example.org")) == 1
    # Heitor has neither account nor address: others act for him.
    heitor = Notice.objects.of(cast.group).get(member=cast.heitor)
    assert heitor.state == NoticeState.NO_CHANNEL


def test_without_an_announced_plan_nobody_is_told():
    cast = make_cast(history_days=0)
    tell(cast)
    assert not Notice.objects.of(cast.group).exists()


def test_a_change_is_told_to_those_concerned_and_to_nobody_else(cast):
    evening = Work.unscoped.create(
        group=cast.group, kind="tell_day_ahead", key=cast.today.isoformat(), due_at=cast.now,
        done_at=cast.now,
    )  # fmt: skip
    tell(cast)
    send_all()
    mail.outbox.clear()
    plan = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 2_000), (cast.vegetables, cast.dome, 0, 4_000)]
    )
    sync_pickups(plan, now=cast.now)
    for _time in range(2):
        tell_changes(evening, cast.now)
        send_all()
    assert [each.subject for each in messages("duarte@example.org")] == [
        "Changed: Duarte's digester, Tuesday 12 May"
    ]
    assert "  2 kg" in messages("duarte@example.org")[0].body
    assert len(messages("filipe@example.org")) == 1
    assert messages("elsa@example.org") == []


def test_a_withdrawn_pickup_is_told_and_an_own_decline_is_not(cast):
    evening = Work.unscoped.create(
        group=cast.group, kind="tell_day_ahead", key=cast.today.isoformat(), due_at=cast.now,
        done_at=cast.now,
    )  # fmt: skip
    tell(cast)
    send_all()
    mail.outbox.clear()
    elsas = Pickup.objects.of(cast.group).get(digester=cast.dome)
    decline = Act(DECLINE, Actor(cast.elsa, Party.FETCHER), "d", cast.now, reason="ill")
    end_pickup(cast.group, elsas.uuid, decline)
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.dome, 0, 4_000)]), now=cast.now)
    tell_changes(evening, cast.now)
    send_all()
    assert "Nothing to pick up." in messages("duarte@example.org")[0].body
    assert messages("elsa@example.org") == []
    for work in Work.unscoped.filter(kind="tell_pickup_open", done_at=None):
        do_work(work.pk)
    send_all()
    assert messages("carla@example.org")[0].subject.startswith("Without a home: Stall 4")


class Gateway:
    """A channel that can fail, or die after it took the message."""

    name = "email"

    def __init__(self, fails: int = 0, dies: bool = False) -> None:
        self.fails, self.dies = fails, dies
        self.taken: list[str] = []

    def send(self, message) -> None:
        if self.fails:
            self.fails -= 1
            raise CouldNotSend("no answer")
        self.taken.append(message.key)
        if self.dies:
            self.dies = False
            raise SystemExit("killed between sending and marking")


def one_work(cast: Cast) -> Work:
    tell(cast)
    notice = Notice.objects.of(cast.group).get(member=cast.duarte)
    return Work.objects.of(cast.group).get(key=f"notice-{notice.uuid}")


def test_killed_between_sending_and_marking_it_is_sent_again_under_the_same_key(cast):
    work, gateway = one_work(cast), Gateway(dies=True)
    with pytest.raises(SystemExit):
        send_notice(work, gateway)
    send_notice(work, gateway)
    send_notice(work, gateway)
    assert len(gateway.taken) == 2
    assert len(set(gateway.taken)) == 1
    assert Notice.objects.of(cast.group).get(member=cast.duarte).state == NoticeState.SENT


def test_a_gateway_that_fails_is_tried_again_and_at_last_the_notice_says_so(cast):
    work, gateway = one_work(cast), Gateway(fails=2)
    for _time in range(2):
        with pytest.raises(CouldNotSend):
            send_notice(work, gateway)
    send_notice(work, gateway)
    assert len(gateway.taken) == 1
    elsa = Notice.objects.of(cast.group).get(member=cast.elsa)
    last = Work.objects.of(cast.group).get(key=f"notice-{elsa.uuid}")
    last.attempts = MOST_ATTEMPTS
    with pytest.raises(CouldNotSend):
        send_notice(last, Gateway(fails=1))
    elsa.refresh_from_db()
    assert elsa.state == NoticeState.FAILED


def test_the_daily_work_tells_of_the_day_after_its_key(cast):
    work = Work(group=cast.group, kind="tell_day_ahead", key=cast.today.isoformat())
    tell_day_ahead(work)
    subjects = Notice.objects.of(cast.group).values_list("subject", flat=True)
    assert all(each.endswith("2026-05-12") for each in subjects)


def test_the_e_mail_carries_its_key(settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    settings.DEFAULT_FROM_EMAIL = "group@example.org"
    EmailChannel().send(Message("abc", "x@example.org", "s", "t"))
    assert mail.outbox[0].extra_headers["Message-ID"] == "<abc@example.org>"
