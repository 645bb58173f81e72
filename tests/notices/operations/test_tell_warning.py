"""A warning is told once, to whom it concerns, with its cautions."""

from __future__ import annotations

import pytest
from django.utils import translation

from apps.digesters.core.process.digester_view import DigesterView
from apps.digesters.models import RaisedWarning
from apps.digesters.operations.keep_warnings import keep_warnings
from apps.groups.models import Work
from apps.notices.models import Notice
from apps.notices.operations.tell_warning import tell_warning
from apps.notices.wording import word_notice
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def warn(cast: Cast, view: DigesterView) -> None:
    keep_warnings(cast.group, {cast.drum: view}, on=cast.today, now=cast.now)
    for work in Work.objects.of(cast.group).filter(kind="tell_warning"):
        tell_warning(work)


def test_souring_is_told_at_home_and_to_the_coordinator_once(cast: Cast) -> None:
    sour = DigesterView(souring_probability=0.8, souring_in_days=3)
    warn(cast, sour)
    warn(cast, sour)
    notices = Notice.objects.of(cast.group).filter(kind="digester_warning")
    assert {each.member_id for each in notices} == {cast.duarte.pk, cast.carla.pk}
    assert len(notices) == 2
    words = word_notice(notices[0], now=cast.now)
    assert words.subject.endswith(": Souring")
    assert "Of 100 possible courses" in words.text
    assert "80" in words.text
    assert "licensed person" in words.text
    with translation.override("es"):
        assert "Se agria" in word_notice(notices[0], now=cast.now).subject


def test_cleared_by_evidence_it_may_be_raised_again(cast: Cast) -> None:
    sour = DigesterView(souring_probability=0.8, souring_in_days=3)
    between = DigesterView(souring_probability=0.3)
    sound = DigesterView(souring_probability=0.1, ph_strip=7.0)
    for view in (sour, between):
        warn(cast, view)
        assert RaisedWarning.objects.of(cast.group).get().cleared_on is None
    warn(cast, sound)
    assert RaisedWarning.objects.of(cast.group).get().cleared_on == cast.today
    warn(cast, sour)
    assert RaisedWarning.objects.of(cast.group).count() == 2


def test_a_hungry_digester_stands_on_its_page_and_sends_nothing(cast: Cast) -> None:
    warn(cast, DigesterView(fed_vs_7d_g=100, minimum_vs_7d_g=700))
    assert RaisedWarning.objects.of(cast.group).get().kind == "hungry"
    assert not Notice.objects.of(cast.group).filter(kind="digester_warning").exists()
