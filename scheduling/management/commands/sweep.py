"""Open renewals for barriers that lapse soon, items for papers that run out; send notices."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from scheduling.services.copies import send_notices
from scheduling.services.register import watch_now, watch_register
from scheduling.services.slot_offers import offer_slots
from scheduling.services.sweep import sweep, sweep_now


class Command(BaseCommand):
    """Run one sweep, look through the register, send what waits, and say what was done."""

    help = "Open and close renewals by residual windows, items by what runs out; send notices."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--today", type=date.fromisoformat, metavar="YYYY-MM-DD")

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        today = options["today"]
        report = sweep(today=today, now=now) if today else sweep_now(now=now)
        watched = watch_register(today=today, now=now) if today else watch_now(now=now)
        offer_slots(now=now)
        sent = send_notices(now=now)
        if options["verbosity"]:
            self.stdout.write(report.sentence)
            if not watched.is_quiet:
                self.stdout.write(watched.sentence)
            if sent.sentence:
                self.stdout.write(sent.sentence)
