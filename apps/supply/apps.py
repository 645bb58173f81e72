"""Supply."""

from django.apps import AppConfig


class SupplyConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.supply"
    default_auto_field = "django.db.models.BigAutoField"
