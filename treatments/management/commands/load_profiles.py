"""Store the rules of the states that come with Eaveline."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from treatments.services.profiles import load_profiles


class Command(BaseCommand):
    """Load our profiles and say how many were new."""

    help = "Store the rules of the states that are not there yet; nothing that is there changes."

    def handle(self, *args: Any, **options: Any) -> None:
        count = load_profiles()
        self.stdout.write(
            f"{count} new profile{'' if count == 1 else 's'}. A second person verifies each one "
            "against the rule's own text; until then it only warns."
        )
