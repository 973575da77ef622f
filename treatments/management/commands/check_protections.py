"""Compare the protection of every zone with its residual windows."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from treatments.services.protection_check import check_protections


class Command(BaseCommand):
    """Say every difference and fail, or say that there is none."""

    help = "Compare the protection of every zone with its residual windows; it must find nothing."

    def handle(self, *args: Any, **options: Any) -> None:
        found = check_protections(now=timezone.now())
        if found:
            raise CommandError("\n".join(found))
        self.stdout.write("Every protection is what its windows say.")
