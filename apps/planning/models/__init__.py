"""Plans and what was asked of them."""

from apps.planning.models.plan import Assignment, DailyFeed, LeftOver, Plan, PlanStatus
from apps.planning.models.second_home import SecondHome
from apps.planning.models.standing import Standing, StandingDay, Weekday
from apps.planning.models.wish import Ban, Pin, SteadyPair

__all__ = [
    "Assignment",
    "Ban",
    "DailyFeed",
    "LeftOver",
    "Pin",
    "Plan",
    "PlanStatus",
    "SecondHome",
    "Standing",
    "StandingDay",
    "SteadyPair",
    "Weekday",
]
