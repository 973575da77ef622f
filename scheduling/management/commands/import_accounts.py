"""Read a firm's spreadsheet."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from accounts.refusals import Refused
from scheduling.services.importing import import_accounts


class Command(BaseCommand):
    """Import a CSV of one row a zone and print what came of it."""

    help = "Import customers, properties, zones and last treatments from a CSV; all or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.csv")
        parser.add_argument("--dry-run", action="store_true", help="say what it would do")
        parser.add_argument("--branch", default="", metavar="NAME", help="for every row")
        parser.add_argument("--update", action="store_true", help="take over cells that differ")
        parser.add_argument("--today", type=date.fromisoformat, metavar="YYYY-MM-DD")

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        try:
            report = import_accounts(
                raw=_bytes(options["file"]),
                file_name=options["file"].name,
                branch_name=options["branch"],
                by=None,
                today=options["today"] or timezone.localdate(now),
                now=now,
                dry_run=options["dry_run"],
                update=options["update"],
            )
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        for line in report.words():
            self.stdout.write(line)
        if report.is_refused:
            sys.exit(1)


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error
