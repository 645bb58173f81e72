"""Make an account and print a link to sign in with, such as for the first person of all."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.people.operations.add_account import add_account
from apps.people.operations.make_sign_in_link import make_sign_in_link

LIFE = timedelta(hours=12)


class Command(BaseCommand):
    """Once more for the same address: a new link, and nothing else."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Who."""
        parser.add_argument("email")
        parser.add_argument("--name", required=True)
        parser.add_argument("--language", default="en", choices=dict(settings.LANGUAGES))
        parser.add_argument("--operator", action="store_true", help="runs the installation")

    def handle(self, *args: Any, **options: Any) -> None:
        """Make it, and print the link."""
        try:
            user = add_account(
                options["email"],
                name=options["name"],
                language=options["language"],
                is_operator=options["operator"],
            )
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        token = make_sign_in_link(user, now=datetime.now(UTC), life=LIFE)
        self.stdout.write(f"{user.name} signs in once, within 12 hours, at")
        self.stdout.write(f"{settings.SITE_ADDRESS}/sign-in/{token}/")
