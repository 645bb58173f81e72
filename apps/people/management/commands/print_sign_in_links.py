"""Print one sign-in link for each kind of user in a group: for trying the service out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.people.models import MemberRole, Role, User
from apps.people.operations.make_sign_in_link import make_sign_in_link

LIFE = timedelta(hours=12)


class Command(BaseCommand):
    """Each link shows a button first and works once."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Which group."""
        parser.add_argument("--group", required=True, metavar="CODE")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print them."""
        now = datetime.now(UTC)
        held = MemberRole.unscoped.filter(
            group__code=options["group"], member__left_at=None, member__user__is_active=True
        ).select_related("member__user")
        if not held.exists():
            raise CommandError(f"Nobody in a group “{options['group']}” can sign in.")
        self.stdout.write("\nSign in as (each link works once, for 12 hours):")
        for role in Role:
            first = held.filter(role=role).order_by("member__code").first()
            if first is None:
                self.stdout.write(f"  {role.label}: nobody")
                continue
            self._print(f"{role.label} ({first.member.name})", first.member.user, now)
        operator = User.objects.filter(is_operator=True, is_active=True).order_by("id").first()
        if operator is not None:
            self._print(f"installation operator ({operator.name})", operator, now)
        self.stdout.write("")

    def _print(self, who: str, user: User, now: datetime) -> None:
        token = make_sign_in_link(user, now=now, life=LIFE)
        self.stdout.write(f"  {who}: {settings.SITE_ADDRESS}/sign-in/{token}/")
