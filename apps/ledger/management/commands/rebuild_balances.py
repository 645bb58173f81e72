"""Make the stored balances anew from the movements."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from apps.ledger.operations.rebuild_balances import rebuild_balances


class Command(BaseCommand):
    """Prints how many balances were wrong."""

    help = "Make the stored balances anew from the movements."

    def handle(self, *args: Any, **options: Any) -> None:
        """Rebuild and report."""
        self.stdout.write(f"{rebuild_balances()} balances were wrong and are right now.")
