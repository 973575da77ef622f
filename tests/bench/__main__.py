"""`python -m tests.bench NAME [--engine sqlite|postgresql]`: how far from the floor, as a ratio.

Builds its rows in a throwaway database, checks that the floor gives the same answer, then times
both in turns: five rounds, medians and spread.
"""

from __future__ import annotations

import argparse
import importlib
import inspect
import os
import tempfile
from contextlib import ExitStack
from pathlib import Path
from types import ModuleType

import django

BENCHES = ("check_mix", "recording", "totals", "verify_log")
DURABLE = ("recording",)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("name", choices=BENCHES)
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--times", type=int, default=20, help="answers in each round")
    parser.add_argument("--size", type=int, help="rows, for a bench that takes a size")
    parser.add_argument("--writers", type=int, help="processes that write at once")
    parser.add_argument("--seconds", type=int, help="how long they write")
    return parser.parse_args()


def settle(engine: str, stack: ExitStack, *, is_durable: bool) -> None:
    """Choose the database before the settings load."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    os.environ["EAVELINE_TEST_ENGINE"] = engine
    if engine == "postgresql":
        from tests.servers import postgres  # noqa: PLC0415

        home = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="eaveline-bench-")))
        home.chmod(0o755)
        os.environ["DATABASE_URL"] = stack.enter_context(postgres(home, is_durable=is_durable))
        os.environ["REDIS_URL"] = ""
    django.setup()


def _asked(options: argparse.Namespace, bench: ModuleType) -> dict[str, int]:
    """The options that were given and that this benchmark takes."""
    takes = inspect.signature(bench.run).parameters
    return {name: value for name, value in vars(options).items() if name in takes and value}


def main() -> None:
    """Run one benchmark and print its line."""
    options = _options()
    with ExitStack() as stack:
        settle(options.engine, stack, is_durable=options.name in DURABLE)
        from django.db import connections  # noqa: PLC0415
        from django.test.utils import setup_databases, teardown_databases  # noqa: PLC0415

        made = setup_databases(verbosity=0, interactive=False)
        stack.callback(connections.close_all)
        stack.callback(teardown_databases, made, verbosity=0)
        bench = importlib.import_module(f"tests.bench.{options.name}")
        for line in bench.run(**_asked(options, bench)):
            print(f"{options.engine}: {line}", flush=True)


if __name__ == "__main__":
    main()
