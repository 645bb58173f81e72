"""Load the demo neighbourhood."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from apps.reports.operations.load_demo import load_demo


class Command(BaseCommand):
    """Twice harms nothing."""

    help = "Load the invented demo neighbourhood, its history ending yesterday."

    def handle(self, *args: Any, **options: Any) -> None:
        """Load and say what is there."""
        demo = load_demo(now=timezone.now())
        done = "loaded" if demo.is_new else "is there already; its days are up to yesterday"
        self.stdout.write(f"{demo.group.name} ({demo.group.code}): {done}.")
        for role, user in demo.accounts.items():
            self.stdout.write(f"  {role.label}: {user.name} <{user.email}>")
        self.stdout.write(f"  installation operator: {demo.operator.email}")
