"""The Celery application of the grown install; the embedded install runs the same services."""

from __future__ import annotations

import os

from celery import Celery
from celery.schedules import crontab

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
app = Celery("eaveline")
app.config_from_object("django.conf:settings", namespace="CELERY")
# Delivered late and at least once; a broker that forgets costs nothing, the sweep derives all
# work from the tables. The time limits stay below the visibility timeout.
app.conf.update(
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    task_time_limit=600,
    task_soft_time_limit=540,
    task_ignore_result=True,
    broker_connection_retry_on_startup=True,
    broker_transport_options={
        "visibility_timeout": 900,
        "unacked_restore_interval": 10,
        "unacked_restore_throttle": 1,
    },
    redbeat_lock_timeout=120,
    timezone="UTC",
    beat_schedule={
        "sweep": {"task": "scheduling.tasks.sweep", "schedule": crontab(minute="*/15")},
        "send_notices": {
            "task": "scheduling.tasks.send_notices",
            "schedule": crontab(minute="*/5"),
        },
        "sign_heads": {
            "task": "treatments.tasks.sign_heads",
            "schedule": crontab(minute="5-59/15"),
        },
    },
)
app.autodiscover_tasks()
