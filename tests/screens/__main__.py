"""`python -m tests.screens [--out DIR] [--role ROLE]`: a picture of every page as each role.

Makes the demo firm in a temporary folder, serves it, walks every address of the permission table
and of the packages at 1360 and 390 px, light and dark. Ends with 1 on any console error, policy
report, missing asset, broken accessibility rule, sideways scrolling, page that did not open, or
empty list where the demo must have rows.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import django
from playwright.sync_api import sync_playwright

from tests.screens.house import demo_house

PICTURED = ("anonymous", "technician", "office", "manager")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.screens", description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("build/screens"))
    parser.add_argument("--role", choices=PICTURED, action="append")
    return parser.parse_args()


def _walk(address: str, roles: tuple[str, ...], out: Path):  # type: ignore[no-untyped-def]
    django.setup()
    # These need the settings of the house, which exist only now.
    from tests.browser_fixtures import ARGUMENTS, chromium_path  # noqa: PLC0415
    from tests.screens.examples import person_in  # noqa: PLC0415
    from tests.screens.walk import Result, walk_role  # noqa: PLC0415

    result = Result()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(ARGUMENTS))
        for role in roles:
            person = person_in(role)
            if person is None and role != "anonymous":
                result.faults.append(f"{role}: nobody in the demo has this role")
                continue
            walk_role(browser, address, role, person, out, result)
        browser.close()
    return result


def main() -> int:
    """Take the pictures and say what was found."""
    options, begun = _options(), time.monotonic()
    options.out.mkdir(parents=True, exist_ok=True)
    with demo_house() as address:
        result = _walk(address, tuple(options.role or PICTURED), options.out)
    for fault in result.faults:
        print(fault)
    print(
        f"{result.pictures} pictures in {options.out}, {result.files} files fetched, "
        f"{len(result.faults)} faults, {time.monotonic() - begun:.0f} s"
    )
    return 1 if result.faults else 0


if __name__ == "__main__":
    sys.exit(main())
