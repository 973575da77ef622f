"""`python -m tests.faults slot [--rounds N --processes N --engine sqlite|postgresql]`."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

import django


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("name", choices=("slot",))
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--rounds", type=int, default=50)
    parser.add_argument("--processes", type=int, default=16)
    return parser.parse_args()


def main() -> int:
    """Run one fault on a throwaway database; 1 when it does not hold."""
    options = _options()
    with ExitStack() as stack:
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
        os.environ["EAVELINE_TEST_ENGINE"] = options.engine
        home = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="eaveline-faults-")))
        if options.engine == "postgresql":
            from tests.servers import postgres  # noqa: PLC0415

            home.chmod(0o755)
            os.environ["DATABASE_URL"] = stack.enter_context(postgres(home))
            os.environ["REDIS_URL"] = ""
        django.setup()
        from django.db import connections  # noqa: PLC0415
        from django.test.utils import setup_databases, teardown_databases  # noqa: PLC0415

        asked = connections["default"].settings_dict["TEST"]
        asked["MIGRATE"] = False  # tables and guards as the suite makes them
        if options.engine == "sqlite":
            asked["NAME"] = str(home / "faults.db")  # processes share a file, never memory
        made = setup_databases(verbosity=0, interactive=False)
        stack.callback(teardown_databases, made, verbosity=0)
        stack.callback(connections.close_all)
        return _slot(options)


def _slot(options: argparse.Namespace) -> int:
    from accounts.permissions import Role  # noqa: PLC0415
    from tests.factories import (  # noqa: PLC0415
        make_branch,
        make_customer,
        make_license,
        make_person,
        make_property,
    )
    from tests.faults import slot  # noqa: PLC0415

    technician = make_person([Role.TECHNICIAN], make_branch())
    make_license(technician, "OH")
    slot.shop(technician)
    customer = make_customer(technician.branch)
    places = [make_property(customer) for _ in range(options.processes)]
    outcome = slot.run(technician, places, rounds=options.rounds)
    print(f"{options.engine}, {options.processes} processes: {outcome}")
    return 0 if outcome.holds else 1


if __name__ == "__main__":
    sys.exit(main())
