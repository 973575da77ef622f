"""The key that signs the heads of the log."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from accounts.refusals import Refused
from treatments.rules.signed_heads import fingerprint
from treatments.selectors.log_keys import key_path, public_hex
from treatments.services.log_keys import signing_key


class Command(BaseCommand):
    """Make the key when there is none, and say its fingerprint."""

    help = "Say the fingerprint of the key that signs the log; the key is made at first use."

    def handle(self, *args: Any, **options: Any) -> None:
        """Write the fingerprint down outside: `verify.py --key` asks for it."""
        try:
            key = signing_key()
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"Key of the log: {fingerprint(public_hex(key))}")
        if options["verbosity"] > 1:
            self.stdout.write(f"Kept in {key_path()}")
