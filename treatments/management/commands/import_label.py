"""Read a label file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from treatments.rules.label_file import FileRefused
from treatments.rules.label_schema import SCHEMA
from treatments.services.label_import import import_label


class Command(BaseCommand):
    """Import one label and print what came of it."""

    help = "Import one label of one product from a JSON file; all or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, nargs="?", metavar="FILE.json")
        parser.add_argument("--dry-run", action="store_true", help="say what it would do")
        parser.add_argument("--schema", action="store_true", help="print the JSON Schema")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["schema"]:
            self.stdout.write(json.dumps(SCHEMA, indent=2))
            return
        if options["file"] is None:
            raise CommandError("Name the file: import_label FILE.json.")
        try:
            done = import_label(raw=_bytes(options["file"]), by=None, dry_run=options["dry_run"])
        except FileRefused as refused:
            lines = "\n".join(refused.mistakes)
            raise CommandError(f"Nothing is imported.\n{lines}") from refused
        product = "a new product, " if done.is_new_product else ""
        self.stdout.write(
            f"{done.words}: {product}{done.directions} directions, {done.limits} limits. "
            f"{'Nothing is stored.' if options['dry_run'] else 'A second person verifies it.'}"
        )


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error
