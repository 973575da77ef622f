"""Change the key that signs the heads of the log."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.refusals import Refused
from treatments.services.log_heads import sign_heads
from treatments.services.log_keys import rotate_key


class Command(BaseCommand):
    """Write a leaf signed by both keys into every log, then sign the heads with the new one."""

    help = "Make a new key for the log; the change is a leaf that the old and the new key sign."

    def handle(self, *args: Any, **options: Any) -> None:
        """Say both fingerprints; a run that was cut off is finished by the next one."""
        now = timezone.now()
        try:
            old, new = rotate_key(now=now)
            failures = sign_heads(now=now).failures
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"Key until now: {old}\nKey from now on: {new}")
        self.stdout.write("Write the new fingerprint down where the old one stood.")
        if failures:
            raise CommandError(" ".join(failures))
