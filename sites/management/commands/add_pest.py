"""Enter a pest, so that labels can name it."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from accounts.refusals import Refused
from sites.rules.places import PestGroup
from sites.services.pests import register_pest


class Command(BaseCommand):
    """Register one pest by its common and scientific name and the group it belongs to."""

    help = "Enter a pest by its common name; label files name pests that are entered."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("common_name")
        parser.add_argument("--scientific", default="")
        parser.add_argument("--group", choices=[group.value for group in PestGroup], required=True)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            pest = register_pest(
                common_name=options["common_name"],
                scientific_name=options["scientific"],
                group=PestGroup(options["group"]),
                by=None,
            )
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"{pest} is entered.")
