"""Sign the heads of the logs now."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.refusals import Refused
from treatments.services.log_heads import sign_heads


class Command(BaseCommand):
    """Sign what grew or was not signed today; end with 1 when something could not be done."""

    help = "Sign the head of every log that grew (Ed25519) and write it outside the database."

    def handle(self, *args: Any, **options: Any) -> None:
        """Sign, write, mail, and say what was done."""
        try:
            done = sign_heads(now=timezone.now())
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        if options["verbosity"]:
            for head in done.signed:
                self.stdout.write(f"{head.branch.name}: {head.size} leaves, root {head.root}")
            count = len(done.signed)
            self.stdout.write(
                f"{count} head{'' if count == 1 else 's'} signed with the key {done.key}."
            )
        if done.failures:
            raise CommandError(" ".join(done.failures))
