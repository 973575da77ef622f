"""Order the visits of a day."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from accounts.selectors.people import branches_for
from scheduling.services.planning import plan_day


class Command(BaseCommand):
    """Plan a day and print it."""

    help = "Order the booked visits of a day per technician and store their planned times."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--date", type=date.fromisoformat, required=True, metavar="YYYY-MM-DD")
        parser.add_argument("--branch", metavar="NAME", help="this branch only")

    def handle(self, *args: Any, **options: Any) -> None:
        branch_id = _branch_id(options["branch"]) if options["branch"] else None
        report = plan_day(day=options["date"], branch_id=branch_id, by=None, now=timezone.now())
        for line in report.lines():
            self.stdout.write(line)


def _branch_id(name: str) -> int:
    found = {branch.name: branch.pk for branch in branches_for(None)}
    if name not in found:
        known = ", ".join(found) or "none yet"
        raise CommandError(f"There is no branch called {name}. Branches: {known}.")
    return found[name]
