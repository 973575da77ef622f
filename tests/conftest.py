"""What every test has: throwaway settings, the cast, guards that survive, two engines, a browser.

The settings are `tests.settings`; each part is a plugin module beside this file.
"""

from __future__ import annotations

import os

from hypothesis import settings

# Machines of different speed run this suite; a slow example is not a wrong one.
settings.register_profile("suite", deadline=None, print_blob=True)
settings.load_profile("suite")

# Playwright runs its own event loop in the thread that also uses the ORM; tests only.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

pytest_plugins = (
    "tests.second_engine",
    "tests.guards_off",
    "tests.caches",
    "tests.cast",
    "tests.browser_fixtures",
    "tests.log_files",
)
