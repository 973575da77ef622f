"""What every template knows."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone


def site(request: HttpRequest) -> dict[str, object]:
    """Return whether this is the demonstration firm, and the instant the page is drawn."""
    return {"demo": settings.DEMO, "drawn_at": timezone.now()}
