"""By e-mail, through whichever Django back end the settings name."""

from __future__ import annotations

import smtplib

from django.conf import settings
from django.core.mail import EmailMessage

from apps.notices.channels.message import CouldNotSend, Message


class EmailChannel:
    """Plain text; the Message-ID is the notice's key, so that a second copy is recognisable."""

    name = "email"

    def send(self, message: Message) -> None:
        """Hand it to the back end."""
        domain = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2]
        mail = EmailMessage(
            subject=message.subject,
            body=message.text,
            to=[message.to],
            headers={"Message-ID": f"<{message.key}@{domain}>"},
        )
        try:
            mail.send()
        except (OSError, smtplib.SMTPException) as error:
            raise CouldNotSend(str(error)) from error
