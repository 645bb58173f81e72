"""Writing down what really went in: by the recipe in one tap, or in one's own amounts."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils.translation import gettext as _

from apps.digesters.operations.feed_digester import Fed, feed_digester
from apps.kernel.errors import NeedsConfirmation, Refused
from apps.pickups.queries.daily_recipe import daily_recipe
from apps.web.forms.day_feeding import FeedingForm, Meal, feeding_start
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest
from apps.web.templatetags.shown import kg, litres, say
from apps.web.views.day.answer import back, show
from apps.web.views.day.visit import Visit, client_key


def feed_by_recipe(request: PageRequest, visit: Visit) -> str:
    """As the recipe says, on the page's day; returns what was understood."""
    digester = visit.digester
    assert digester is not None
    recipe = daily_recipe(digester, visit.on)
    meal = Meal(recipe.from_bin_g, recipe.own_waste_g, recipe.water_ml, visit.on)
    return _told(meal, _feed(request, visit, meal, is_confirmed=False))


def other_amounts(request: PageRequest, visit: Visit) -> HttpResponse:
    """Kilograms, litres or one's own measures. Too much is asked again with its danger, and
    written down if it happened."""
    digester = visit.digester
    assert digester is not None
    start = feeding_start(digester, visit.on)
    form = FeedingForm(request.POST if request.method == "POST" else None, start=start, on=visit.on)
    ask = understood = ""
    if request.method == "POST" and form.is_valid():
        meal = form.meal()
        understood = _meal_words(meal)
        try:
            fed = _feed(request, visit, meal, is_confirmed="is_confirmed" in request.POST)
        except NeedsConfirmation as error:
            ask = say(error)
        except Refused as error:
            put_refusal(form, error, under={"fed_at": "on"}.get(error.field or ""))
        else:
            return back(request, visit, _told(meal, fed))
    status = 422 if form.errors else 409 if ask else 200
    context = {"form": form, "ask": ask, "understood": understood, "start": start}
    return show(request, visit, "feeding", context, status)


def _feed(request: PageRequest, visit: Visit, meal: Meal, *, is_confirmed: bool) -> Fed:
    assert visit.digester is not None
    return feed_digester(
        visit.digester,
        from_bin_g=meal.from_bin_g,
        own_waste_g=meal.own_waste_g,
        water_ml=meal.water_ml,
        fed_at=visit.instant_on(meal.on),
        now=visit.now,
        client_key=client_key(request),
        recorded_by=visit.doer,
        is_confirmed=is_confirmed,
        note=f"for: {visit.acted_for.code}" if visit.acted_for else "",
    )


def _meal_words(meal: Meal) -> str:
    return _("%(bin)s from the bin, %(own)s own kitchen waste, %(water)s water") % {
        "bin": kg(sum(meal.from_bin_g.values())),
        "own": kg(sum(meal.own_waste_g.values())),
        "water": litres(meal.water_ml),
    }


def _told(meal: Meal, fed: Fed) -> str:
    told = _("Written down: %(meal)s.") % {"meal": _meal_words(meal)}
    if fed.is_over:
        told += " " + _("It was more than its most. The coordinator is told.")
    return told
