"""Send an invitation's link to the address it is for."""

from __future__ import annotations

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _

from apps.people.models import Invitation


def mail_invitation(invitation: Invitation, token: str) -> None:
    """In the language of whoever is invited. Call it after the transaction: the link must not
    be out before its row is."""
    with translation.override(invitation.member.language):
        link = settings.SITE_ADDRESS + reverse("invitation", kwargs={"token": token})
        send_mail(
            _("You are invited to %(group)s") % {"group": invitation.group.name},
            render_to_string("web/mail/invitation.txt", {"invitation": invitation, "link": link}),
            None,
            [invitation.email],
        )
