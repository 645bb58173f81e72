"""Notices."""

from apps.notices.models.notice import Notice, NoticeState

__all__ = ["Notice", "NoticeState"]
