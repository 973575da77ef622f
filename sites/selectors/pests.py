"""Reading pests."""

from __future__ import annotations

from django.db.models import QuerySet

from sites.models import Pest


def pests() -> QuerySet[Pest]:
    """Every pest by its common name."""
    return Pest.objects.order_by("common_name")
