"""Open renewals for barriers that lapse soon."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from scheduling.services.sweep import sweep, sweep_now


class Command(BaseCommand):
    """Run one sweep and say what it did."""

    help = "Open renewals from residual windows and close those whose reason is gone."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--today", type=date.fromisoformat, metavar="YYYY-MM-DD")

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        today = options["today"]
        report = sweep(today=today, now=now) if today else sweep_now(now=now)
        if options["verbosity"]:
            self.stdout.write(report.sentence)
