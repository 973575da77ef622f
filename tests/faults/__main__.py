"""`python -m tests.faults NAME [--engine sqlite|postgresql] [--rounds N] [--seed S]`: full rounds.

In a throwaway database; ends with 1 where something is missing or double.
"""

from __future__ import annotations

import argparse
import importlib
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

from tests.bench.__main__ import settle

ROUNDS = {"mail": 20, "slot": 50, "sweep": 20}


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("name", choices=sorted(ROUNDS))
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--rounds", type=int)
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args()


def _database(engine: str, stack: ExitStack) -> None:
    """An empty database with the tables and guards of the suite; on SQLite a file to share."""
    settle(engine, stack, is_durable=False)
    from django.db import connections  # noqa: PLC0415
    from django.test.utils import setup_databases, teardown_databases  # noqa: PLC0415

    asked = connections["default"].settings_dict["TEST"]
    asked["MIGRATE"] = False
    if engine == "sqlite":
        home = stack.enter_context(tempfile.TemporaryDirectory(prefix="eaveline-faults-"))
        asked["NAME"] = str(Path(home) / "faults.db")
    made = setup_databases(verbosity=0, interactive=False)
    stack.callback(teardown_databases, made, verbosity=0)
    stack.callback(connections.close_all)


def main() -> int:
    """Run one fault in full and print what stands after it."""
    options = _options()
    with ExitStack() as stack:
        _database(options.engine, stack)
        fault = importlib.import_module(f"tests.faults.{options.name}")
        holds, said = fault.full(rounds=options.rounds or ROUNDS[options.name], seed=options.seed)
        print(f"{options.engine}, seed {options.seed}: {said}", flush=True)
    return 0 if holds else 1


if __name__ == "__main__":
    sys.exit(main())
