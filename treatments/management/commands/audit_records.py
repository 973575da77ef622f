"""Look at the records of use anew from the command line."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from treatments.services.auditing import audit_records


class Command(BaseCommand):
    """Run the audit once and say what it opened and closed."""

    help = "Check records of use (A01 to A18), open items for what is wrong, close what is right."

    def handle(self, *args: Any, **options: Any) -> None:
        """Audit now; the sweep does it once a day."""
        now = timezone.now()
        opened, closed = audit_records(today=timezone.localdate(now), now=now)
        self.stdout.write(f"Audit of records: {opened} opened, {closed} closed.")
