"""The fuse box. The Celery application is made with the project, so that `.delay()` finds it."""

from config.celery import app as celery_app

__all__ = ["celery_app"]
