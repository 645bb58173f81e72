"""The Celery tasks: thin callers of the work operations."""

from __future__ import annotations

from apps.groups.operations.do_work import do_work, due_work
from apps.groups.operations.plan_daily_work import plan_daily_work
from coordinator.celery import TICK_S, app


@app.task
def do_one_work(work_id: int) -> bool:
    """Do one piece of work, unless it is done or somebody has it."""
    return do_work(work_id)


@app.task(expires=TICK_S)
def tick() -> int:
    """Put down what each group's day asks for and hand out everything that is due."""
    plan_daily_work()
    due = due_work()
    for work_id in due:
        do_one_work.delay(work_id)
    return len(due)
