"""Forget the personal values of records past their retention, from the command line."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.refusals import Refused
from accounts.selectors.people import people_for
from treatments.services.purging import Purged, purge_records


class Command(BaseCommand):
    """Say by branch how many values of how many records were forgotten."""

    help = "Delete personal values of records kept until before a day; the log says what went."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The day, who does it, and whether it is only counted."""
        parser.add_argument(
            "--before", type=date.fromisoformat, required=True, metavar="YYYY-MM-DD"
        )
        parser.add_argument("--by", default="", help="e-mail of the manager who does it")
        parser.add_argument("--dry-run", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Purge, or count what would go."""
        by = people_for(None).filter(email__iexact=options["by"]).first() if options["by"] else None
        if options["by"] and by is None:
            raise CommandError(f"Nobody signs in as {options['by']}.")
        try:
            found = purge_records(
                before=options["before"], by=by, now=timezone.now(), dry_run=options["dry_run"]
            )
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        for one in found:
            self.stdout.write(_line(one, "would forget" if options["dry_run"] else "forgot"))


def _line(one: Purged, verb: str) -> str:
    records = f"{one.records} record{'' if one.records == 1 else 's'}"
    values = f"{one.values} personal value{'' if one.values == 1 else 's'}"
    more = f" and {one.incidents} incident{'' if one.incidents == 1 else 's'}"
    return f"{one.branch_name}: {verb} {values} of {records}{more if one.incidents else ''}."
