"""One file for an inspector."""

from __future__ import annotations

import os
from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.refusals import Refused
from treatments.rules.bundles import BundleScope
from treatments.selectors.bundle_scopes import scope_of
from treatments.services.bundles import HandedOver, export_bundle


class Command(BaseCommand):
    """Write records, proofs and the script that checks them into one zip."""

    help = "Write the records of some days with their proofs and verify.py into one zip file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Days, what they are narrowed to, and where to."""
        day = date.fromisoformat
        parser.add_argument("--from", dest="since", type=day, required=True, metavar="YYYY-MM-DD")
        parser.add_argument("--to", dest="until", type=day, required=True, metavar="YYYY-MM-DD")
        parser.add_argument("--branch", default="", help="name of a branch")
        parser.add_argument("--person", default="", help="applicator, by number or full name")
        parser.add_argument("--property", default="", help="property, by number")
        parser.add_argument("--product", default="", help="product, by name or registration number")
        parser.add_argument("--lot", default="", help="lot number")
        parser.add_argument("--out", type=Path, required=True, metavar="FILE.zip")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write it beside its place and move it there when it is whole."""
        out: Path = options["out"]
        part = out.with_name(f"{out.name}.part")
        try:
            scope = self._scope(options)
            done = _write(scope, part)
            os.replace(part, out)
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        except OSError as failure:
            raise CommandError(f"{out} could not be written: {failure}.") from failure
        finally:
            part.unlink(missing_ok=True)
        self._say(out, done)

    def _scope(self, options: dict[str, Any]) -> BundleScope:
        names = ("since", "until", "branch", "person", "product", "lot")
        return scope_of(place=options["property"], **{name: options[name] for name in names})

    def _say(self, out: Path, done: HandedOver) -> None:
        self.stdout.write(f"{out}: {done.records} record{'' if done.records == 1 else 's'}")
        self.stdout.write(f"  SHA-256 {done.sha256}\n  signed with the key {done.key}")
        for sentence in done.differences:
            self.stdout.write(f"  NOT WHOLE: {sentence} Run manage.py verify_log.")


def _write(scope: BundleScope, part: Path) -> HandedOver:
    # it holds names and addresses: for its owner only
    with os.fdopen(os.open(part, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600), "w+b") as file:
        done = export_bundle(scope=scope, by=None, now=timezone.now(), out=file)
        file.flush()
        os.fsync(file.fileno())
    return done
