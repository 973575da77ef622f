"""What is opened when a report and the log differ (check A21), and closed when they agree."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from accounts.selectors.people import branches_for
from accounts.services.audit import close_items, open_item
from treatments.rules.totals_log import (
    Reconciled,
    Scope,
    ledger_of_cells,
    reconcile,
    reconciled_words,
)
from treatments.rules.use_reports import year_of
from treatments.selectors.totals import ledger_of_log, totals_of

CODE = "totals_differ_from_log"
WHOLE = "The totals and the log agree again."


def note_difference(found: Reconciled, scope: Scope, branches: Mapping[int, str]) -> int:
    """Open an item for each branch whose totals and log differ; how many branches do.

    The same branch and year is open once, whichever report found it.
    """
    apart = {one.key.branch_id for one in found.differences}
    words = reconciled_words(found, branches)
    for branch_id in apart & scope.branches:
        open_item(
            branch_id=branch_id,
            code=CODE,
            thing=_thing(branch_id, scope.since),
            sentence=" ".join(words[:3]) + " Verify the log, then look at the records it names.",
        )
    return len(apart)


def _thing(branch_id: int, since: date) -> str:
    return f"totals:{branch_id}:{since.year}"


def check_totals(*, year: int, now: datetime) -> dict[str, Reconciled]:
    """Compare a year of every branch with its log, by name; open and close what that says."""
    found: dict[str, Reconciled] = {}
    for branch in branches_for(None).order_by("name"):
        period = year_of(year)
        scope = Scope(frozenset({branch.pk}), period.since, period.until)
        compared = reconcile(ledger_of_cells(totals_of(scope, ()).cells), ledger_of_log(scope))
        found[branch.name] = compared
        if compared.is_whole:
            close_items(code=CODE, thing=_thing(branch.pk, scope.since), note=WHOLE, now=now)
        else:
            note_difference(compared, scope, {branch.pk: branch.name})
    return found
