"""Serve the site from this machine."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from scheduling.management import serving


class Command(BaseCommand):
    """Prepare the database, then serve until stopped."""

    help = "Migrate, gather static files, then serve the site and run the sweep every 15 minutes."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--plain-http", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        serving.refuse_open_http(options["host"], options["plain_http"])
        serving.prepare()
        serving.tell_key(self.stdout.write)
        self.stdout.write(f"Serving on http://{options['host']}:{options['port']}")
        self.stdout.flush()
        sys.exit(serving.serve(options["host"], options["port"]))
