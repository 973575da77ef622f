"""The invented firm, the whole round, then the site."""

from __future__ import annotations

import os
import sys
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from accounts.selectors.people import branches_for
from scheduling.management import serving
from scheduling.rules.demo.people import FIRM, PASSWORD, PEOPLE
from scheduling.services.demo.round import Step, run


class Command(BaseCommand):
    """Seed the demonstration firm once, go through the round, print it, serve it."""

    help = "Make the demonstration firm, run the whole round, then serve the site."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true")
        parser.add_argument("--seed", type=int, default=7)
        parser.add_argument("--today", type=date.fromisoformat, default=None)
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        serving.prepare()
        today = options["today"] or timezone.localdate(timezone=ZoneInfo("America/New_York"))
        if self._is_new():
            self._round(options["seed"], today)
        self._sign_ins()
        if not options["no_serve"]:
            self._serve(options["port"])

    def _is_new(self) -> bool:
        names = [branch.name for branch in branches_for(None)]
        if any("(demo)" not in name for name in names):
            raise CommandError(
                "This database holds a firm of its own; the demonstration would mix with it. "
                "Set DATA_DIR to an empty folder and run it again."
            )
        if names:
            self.stdout.write("The demonstration firm is here already; the round is not run again.")
        return not names

    def _round(self, seed: int, today: date) -> None:
        self.stdout.write(f"{FIRM}. Everything in it is invented.\n")
        folder = Path(settings.DATA_DIR) / "demo"
        folder.mkdir(exist_ok=True)
        for number, step in enumerate(run(seed=seed, today=today), start=1):
            self._show(number, step, folder)

    def _show(self, number: int, step: Step, folder: Path) -> None:
        self.stdout.write(f"{number:2}. {step.name}")
        for line in step.lines:
            self.stdout.write(f"      {line}")
        for name, content in step.files.items():
            (folder / name).write_bytes(content)
            self.stdout.write(f"      file {folder / name}")

    def _sign_ins(self) -> None:
        self.stdout.write(f"\nSign in with the password {PASSWORD} as")
        for one in PEOPLE:
            roles = ", ".join(sorted(one.roles))
            self.stdout.write(f"      {one.email:26} {one.full_name} ({roles})")

    def _serve(self, port: int) -> None:
        self.stdout.write(f"\nOpen http://127.0.0.1:{port} and stop with Ctrl-C.")
        self.stdout.flush()
        # the web server is a child that reads the settings anew: it must mark its pages
        os.environ["DEMO"] = "True"
        sys.exit(serving.serve("127.0.0.1", port))
