"""`python -m tests.faults mail [--engine ENGINE] [--rounds N] [--seed S]`: full rounds."""

from __future__ import annotations

import argparse
import importlib
from contextlib import ExitStack

from tests.bench.__main__ import settle

FAULTS = ("mail",)


def main() -> None:
    """Run one fault on a throwaway database and print what was counted."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("name", choices=FAULTS)
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with ExitStack() as stack:
        settle(options.engine, stack, is_durable=False)
        from django.db import connections  # noqa: PLC0415
        from django.test.utils import setup_databases, teardown_databases  # noqa: PLC0415

        made = setup_databases(verbosity=0, interactive=False)
        stack.callback(connections.close_all)
        stack.callback(teardown_databases, made, verbosity=0)
        fault = importlib.import_module(f"tests.faults.{options.name}")
        for line in fault.run(rounds=options.rounds, seed=options.seed):
            print(f"{options.engine}: {line}", flush=True)


if __name__ == "__main__":
    main()
