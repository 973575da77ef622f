"""One writer after the other, and nobody left out.

SQLite has no queue: whoever is refused asks again after a pause that grows to a tenth of a second,
so that who has just come and asks every millisecond overtakes who has waited long, for ten seconds
and more under load. Here it is the other way round: the longer one has waited, the oftener one
asks. The lock is SQLite's own, so that a writer who is killed leaves nothing behind.
"""

from __future__ import annotations

import sqlite3
from time import monotonic, sleep
from typing import Any

from django.db import OperationalError
from django.db.backends.sqlite3 import base

FIRST_PAUSE_S, LEAST_PAUSE_S = 0.010, 0.004
UNTIL_LEAST_S = 2.0
USUAL_WAIT_S = 5.0  # what SQLite's driver waits where the settings say nothing
PRIMARY = 0xFF  # the low byte of an extended result code: sqlite.org/rescode.html


def pause_after(waited: float) -> float:
    """How long to wait before the next asking, in seconds, by how long one has waited."""
    grown = min(waited / UNTIL_LEAST_S, 1.0)
    return FIRST_PAUSE_S - grown * (FIRST_PAUSE_S - LEAST_PAUSE_S)


class DatabaseWrapper(base.DatabaseWrapper):
    """SQLite whose transactions begin in turn; all else is as in Django."""

    def _start_transaction_under_autocommit(self) -> None:
        """Begin, asking again until the time-out of the settings is over."""
        patience = float(self.settings_dict["OPTIONS"].get("timeout", USUAL_WAIT_S))
        asked = monotonic()
        self._busy_timeout(0)
        try:
            while not self._has_begun(is_last=monotonic() - asked >= patience):
                sleep(pause_after(monotonic() - asked))
        finally:
            self._busy_timeout(patience)

    def _has_begun(self, *, is_last: bool) -> bool:
        usual: Any = super()
        try:
            usual._start_transaction_under_autocommit()
        except OperationalError as failure:
            if is_last or not _is_busy(failure):
                raise
            return False
        return True

    def _busy_timeout(self, seconds: float) -> None:
        connection: Any = self.connection
        connection.execute(f"PRAGMA busy_timeout = {int(seconds * 1000)}")


def _is_busy(failure: OperationalError) -> bool:
    code = getattr(failure.__cause__, "sqlite_errorcode", 0)
    return code & PRIMARY == sqlite3.SQLITE_BUSY
