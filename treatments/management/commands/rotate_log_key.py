"""Change the key that signs the heads of the log."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.refusals import Refused
from treatments.services.log_heads import sign_heads
from treatments.services.log_keys import replace_lost_key, rotate_key


class Command(BaseCommand):
    """Write a leaf signed by both keys into every log, then sign the heads with the new one."""

    help = "Make a new key for the log; the change is a leaf that the old and the new key sign."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Without an old key: since when it is lost."""
        parser.add_argument(
            "--lost",
            type=datetime.fromisoformat,
            metavar="YYYY-MM-DDTHH:MM",
            help="the old key and its copy are lost since then; the new one signs alone",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Say both fingerprints; a run that was cut off is finished by the next one."""
        now = timezone.now()
        try:
            old, new = _changed(options["lost"], now)
            failures = sign_heads(now=now).failures
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"Key until now: {old}\nKey from now on: {new}")
        self.stdout.write("Write the new fingerprint down where the old one stood.")
        if failures:
            raise CommandError(" ".join(failures))


def _changed(lost: datetime | None, now: datetime) -> tuple[str, str]:
    if lost is None:
        return rotate_key(now=now)
    since = timezone.make_aware(lost) if timezone.is_naive(lost) else lost
    return replace_lost_key(since=since, now=now)
