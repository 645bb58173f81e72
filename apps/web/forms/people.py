"""Signing in, founding a group, inviting people, their roles."""

from __future__ import annotations

from zoneinfo import available_timezones

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _

from apps.people.models import Role


class SignInForm(forms.Form):
    """An e-mail address."""

    email = forms.EmailField(
        label=_("Your e-mail address"),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )


def zone_choices() -> list[tuple[str, str]]:
    """IANA names of inhabited places, in order."""
    return [(name, name) for name in sorted(available_timezones()) if "/" in name]


class NewGroupForm(forms.Form):
    """Name, address and local time of a group."""

    name = forms.CharField(label=_("Name of the group"), max_length=120)
    code = forms.SlugField(
        label=_("Short name"),
        max_length=40,
        help_text=_("It stands in the group’s web address: small letters, digits and hyphens."),
    )
    time_zone = forms.ChoiceField(
        label=_("Time zone"), choices=lambda: [("", _("choose")), *zone_choices()]
    )
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)


class InviteForm(forms.Form):
    """Whom to invite, and for what."""

    name = forms.CharField(label=_("Name"), max_length=120)
    email = forms.EmailField(label=_("E-mail address"), max_length=254)
    roles = forms.MultipleChoiceField(
        label=_("What they will do"), choices=Role.choices, widget=forms.CheckboxSelectMultiple
    )
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)


class RolesForm(forms.Form):
    """What a member does."""

    roles = forms.MultipleChoiceField(
        label=_("What they do"), choices=Role.choices, widget=forms.CheckboxSelectMultiple
    )
