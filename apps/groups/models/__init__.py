"""Groups, what belongs to them, what happened and what is to be done."""

from apps.groups.models.fact import Fact
from apps.groups.models.group import Group
from apps.groups.models.scoped import Coded, GroupScoped, SameGroup, same_group, scoped_models
from apps.groups.models.work import Work

__all__ = [
    "Coded",
    "Fact",
    "Group",
    "GroupScoped",
    "SameGroup",
    "Work",
    "same_group",
    "scoped_models",
]
