"""Prove the promises of the books, figure by figure; exit code 1 when one is broken."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils.module_loading import import_string


class Command(BaseCommand):
    """`settings.INVARIANT_CHECKS` names functions that yield `Promise`s."""

    help = "Check every promise of the books and print the figures."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print one line a promise."""
        broken = 0
        for name in settings.INVARIANT_CHECKS:
            for promise in import_string(name)():
                mark = "kept  " if promise.is_kept else "BROKEN"
                broken += not promise.is_kept
                self.stdout.write(f"{mark} {promise.figure:>8} {promise.unit:<10} {promise.name}")
        if broken:
            raise CommandError(
                f"{broken} promises are broken. Stop recording, keep a copy of the database, and "
                "compare it with the last backup; wrong balances alone: run rebuild_balances."
            )
        self.stdout.write("All promises are kept.")
