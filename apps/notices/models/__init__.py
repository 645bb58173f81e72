"""Notices, and the secret addresses of calendars."""

from apps.notices.models.calendar_feed import CalendarFeed
from apps.notices.models.notice import Notice, NoticeState

__all__ = ["CalendarFeed", "Notice", "NoticeState"]
