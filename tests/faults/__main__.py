"""`python -m tests.faults NAME [--engine sqlite|postgresql] [--rounds N] [--seed S]`: full rounds.

In a throwaway database; ends with 1 where something is missing or double.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

import django

FAULTS = {"sweep": {"rounds": 20, "properties": 200}}


def _settle(engine: str, stack: ExitStack) -> None:
    """Choose the database before the settings load."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    os.environ["EAVELINE_TEST_ENGINE"] = engine
    if engine == "postgresql":
        from tests.servers import postgres  # noqa: PLC0415

        home = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="eaveline-faults-")))
        home.chmod(0o755)
        os.environ["DATABASE_URL"] = stack.enter_context(postgres(home, is_durable=False))
        os.environ["REDIS_URL"] = ""
    django.setup()


def main() -> int:
    """Run one fault in full and print what stands after it."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("name", choices=sorted(FAULTS))
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--rounds", type=int)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with ExitStack() as stack:
        _settle(options.engine, stack)
        from django.db import connections  # noqa: PLC0415
        from django.test.utils import setup_databases, teardown_databases  # noqa: PLC0415

        made = setup_databases(verbosity=0, interactive=False)
        stack.callback(teardown_databases, made, verbosity=0)
        stack.callback(connections.close_all)
        asked = FAULTS[options.name] | ({"rounds": options.rounds} if options.rounds else {})
        fault = importlib.import_module(f"tests.faults.{options.name}")
        outcome = fault.run(seed=options.seed, **asked)
        print(f"{options.engine}, seed {options.seed}: {outcome}", flush=True)
        return 0 if outcome.is_whole and outcome.killed else 1


if __name__ == "__main__":
    sys.exit(main())
