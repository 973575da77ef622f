"""Work that workers do in the grown install; each is a service call."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from treatments.services import log_heads


@shared_task  # type: ignore[untyped-decorator]  # the library has no types
def sign_heads() -> None:
    """Sign the heads of the logs."""
    log_heads.sign_heads(now=timezone.now())
