"""Celery, for installations with a broker. Tasks carry a work row's id and nothing else; what
must be done is remembered by the database, so a flushed broker loses no work."""

from __future__ import annotations

import os

from celery import Celery

TICK_S = 5.0
"""Seconds between two looks for due work; a tick nobody took meanwhile expires."""

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coordinator.settings")

app = Celery("coordinator")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.imports = ("coordinator.tasks",)
app.conf.beat_schedule = {"tick": {"task": "coordinator.tasks.tick", "schedule": TICK_S}}
