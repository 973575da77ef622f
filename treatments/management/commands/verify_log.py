"""Verify the compliance log from the command line."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from treatments.selectors.log import Verification, verify_all


class Command(BaseCommand):
    """Print size, root and result of each branch's log; end with 1 on any difference."""

    help = "Build every leaf of the log again from its record and compare (RFC 9162, SHA-256)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One branch by name, or all."""
        parser.add_argument("--branch", default="", help="name of one branch; without it all")

    def handle(self, *args: Any, **options: Any) -> None:
        """Verify and say what was found."""
        results = verify_all(options["branch"])
        if options["branch"] and not results:
            raise CommandError(f"There is no log of a branch named {options['branch']!r}.")
        for result in results:
            self._say(result)
        if not results:
            self.stdout.write("No log was begun yet: it begins with the first record.")
        broken = [result for result in results if not result.is_whole]
        if broken:
            raise CommandError(f"{len(broken)} of {len(results)} logs differ from their records.")

    def _say(self, result: Verification) -> None:
        self.stdout.write(f"{result.branch_name}: {result.size} leaves, root {result.root}")
        self.stdout.write(f"  {'whole' if result.is_whole else result.difference}")
