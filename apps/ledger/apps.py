"""Ledger."""

from django.apps import AppConfig


class LedgerConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.ledger"
    default_auto_field = "django.db.models.BigAutoField"
