"""Verify the compliance log from the command line."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.refusals import Refused
from treatments.selectors.log import Verification, verify_all
from treatments.selectors.log_keys import key_fingerprint


class Command(BaseCommand):
    """Print size, root and result of each branch's log; end with 1 on any difference."""

    help = (
        "Verify every log: bytes, hashes, tree and signed heads (RFC 9162, Ed25519), inside and "
        "outside the database, and every leaf against its record."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One branch by name, or all; the key to be trusted."""
        parser.add_argument("--branch", default="", help="name of one branch; without it all")
        parser.add_argument(
            "--key", default="", help="fingerprint to be trusted; without it that of the key file"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Verify and say what was found."""
        try:
            key = options["key"] or key_fingerprint()
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        results = verify_all(options["branch"], key=key, now=timezone.now())
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
        count = f"{result.heads} signed head{'' if result.heads == 1 else 's'} compared"
        self.stdout.write(f"  {count}")
        for found in result.differences:
            self.stdout.write(f"  {found.sentence}\n    {found.to_do}")
        for note in result.notes:
            self.stdout.write(f"  {note}")
        if result.is_whole:
            self.stdout.write("  whole")
