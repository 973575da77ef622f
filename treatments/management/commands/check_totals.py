"""Compare the totals of a year with the log from the command line."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from treatments.rules.totals_log import reconciled_words
from treatments.services.total_findings import check_totals


class Command(BaseCommand):
    """Print what each branch's totals and log say; end with 1 on any difference."""

    help = "Add up a year's records and the leaves of the log, and compare them (check A21)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One year; without it this one."""
        parser.add_argument("--year", type=int, default=timezone.localdate().year)

    def handle(self, *args: Any, **options: Any) -> None:
        """Compare and say what was found."""
        found = check_totals(year=options["year"], now=timezone.now())
        for name, compared in found.items():
            self.stdout.write(f"{name}: {' '.join(reconciled_words(compared, {}))}")
        apart = [name for name, compared in found.items() if not compared.is_whole]
        if apart:
            raise CommandError(f"Totals and log differ: {', '.join(apart)}.")
