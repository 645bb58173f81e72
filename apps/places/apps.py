"""Places."""

from django.apps import AppConfig


class PlacesConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "apps.places"
    default_auto_field = "django.db.models.BigAutoField"
