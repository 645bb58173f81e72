"""A person's language, for pages and messages."""

from __future__ import annotations

from django.conf import settings
from django.db import transaction

from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import Member


class UnknownLanguage(Refused):
    """The service does not speak it."""

    code = "unknown_language"


@transaction.atomic
def choose_language(member: Member, language: str) -> None:
    """In this group, and for the account where there is one."""
    if language not in dict(settings.LANGUAGES):
        raise UnknownLanguage(
            gettext_noop("“%(given)s” is not among the languages here. Choose one of the list."),
            field="language",
            figures={"given": language[:10]},
        )
    member.language = language
    member.save(update_fields=["language"])
    if member.user is not None:
        member.user.language = language
        member.user.save(update_fields=["language"])
