"""Ledger."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class LedgerConfig(AppConfig):
    """What really happened to grams; its history is guarded by triggers."""

    name = "apps.ledger"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # Needs the models, which are not loaded yet when this module is.
        from apps.ledger.models.guards import guard_after_migrate  # noqa: PLC0415

        post_migrate.connect(guard_after_migrate, sender=self, dispatch_uid="ledger_guard_history")
