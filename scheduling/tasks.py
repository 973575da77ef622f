"""Work that workers do in the grown install; each is a service call."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from scheduling.services import copies, register, slot_offers
from scheduling.services import sweep as sweeping


@shared_task  # type: ignore[untyped-decorator]  # the library has no types
def sweep() -> None:
    """Open and close renewals, and the items of what runs out."""
    sweeping.sweep_now(now=timezone.now())
    register.watch_now(now=timezone.now())
    slot_offers.offer_slots(now=timezone.now())


@shared_task  # type: ignore[untyped-decorator]  # the library has no types
def send_notices() -> None:
    """Send the notices that wait."""
    copies.send_notices(now=timezone.now())
