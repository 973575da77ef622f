"""Taking over a firm's own spreadsheet: read, decide, store all or nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event
from accounts.services.branches import open_branch
from scheduling.rules.accounts_checks import refused_rows
from scheduling.rules.accounts_known import KnownBranch
from scheduling.rules.accounts_plan import NEW_BRANCH, ImportPlan, plan_import
from scheduling.rules.spreadsheet import AccountRow, AccountsSheet, read_accounts
from scheduling.selectors.accounts_known import known_accounts, known_branches
from scheduling.services.import_report import ImportReport, new_counts, new_lines
from scheduling.services.import_store import SourceFile, store_plan

if TYPE_CHECKING:
    from accounts.models import Person

FIRST_BRANCH = "Main branch"


def import_accounts(
    *,
    raw: bytes,
    file_name: str,
    by: Person | None,
    today: date,
    now: datetime,
    branch_name: str = "",
    dry_run: bool = False,
    update: bool = False,
) -> ImportReport:
    """Take over a CSV of one row a zone, or say what it would do.

    All or nothing: a bad row, or a cell that differs from what is stored without `update`, and
    nothing is written; both are named in the report. In an empty house the first branch is made,
    called `branch_name`, in the state of the first row. Refused: a branch name nobody knows.
    """
    require(by, Permission.IMPORT_ACCOUNTS)
    sheet = read_accounts(raw, today=today)
    file = SourceFile(file_name, hashlib.sha256(raw).hexdigest())
    if dry_run:
        report = _decide(sheet, file, branch_name, by, update)[1]
        return replace(report, is_dry_run=True)
    try:
        return _take(sheet, file, branch_name, by, now, update)
    except IntegrityError as error:
        raise Refused(
            "import", "Somebody changed the same accounts just now. Run the import again."
        ) from error


@transaction.atomic
def _take(
    sheet: AccountsSheet,
    file: SourceFile,
    branch_name: str,
    by: Person | None,
    now: datetime,
    update: bool,
) -> ImportReport:
    """Decide and store under the lock of the branches: two imports take turns."""
    list(branches_for(by).select_for_update().order_by("pk"))
    plan, report = _decide(sheet, file, branch_name, by, update)
    if report.is_refused or report.is_unchanged:
        return report
    new_branch = _open_branch(sheet, report, branch_name, by)
    store_plan(plan, file, new_branch, by=by, now=now)
    note_event(
        by=by,
        act="import_accounts",
        thing=file.name,
        now=now,
        sha256=file.sha256,
        changed=len(report.changes),
        **{noun.replace(" ", "_"): many for noun, many in report.new.items()},
    )
    return replace(report, is_stored=True)


def _open_branch(
    sheet: AccountsSheet, report: ImportReport, branch_name: str, by: Person | None
) -> int:
    if not report.new["branch"]:
        return NEW_BRANCH
    state = sheet.rows[0].service_state
    return open_branch(name=branch_name or FIRST_BRANCH, state=state, by=by).pk


def _decide(
    sheet: AccountsSheet, file: SourceFile, branch_name: str, by: Person | None, update: bool
) -> tuple[ImportPlan, ImportReport]:
    plan, new_branch = _plan(sheet.rows, branch_name, by)
    found = (*sheet.problems, *plan.problems, *refused_rows(plan))
    problems = sorted(found, key=lambda one: one.line)
    changes = plan.changes()
    report = ImportReport(
        file_name=file.name,
        problems=tuple(problems),
        changes=changes,
        new=new_counts(plan, new_branch),
        new_lines=new_lines(plan, new_branch),
        unchanged=sum(one.known is not None for one in plan.zones),
        is_dry_run=False,
        is_update=update,
        is_stored=False,
    )
    return plan, report


def _plan(
    rows: Sequence[AccountRow], branch_name: str, by: Person | None
) -> tuple[ImportPlan, str]:
    """The plan, and the name of the branch it makes first; empty when it makes none."""
    branches = known_branches(by)
    chosen = _chosen(branches, branch_name)
    known = known_accounts([one.pk for one in branches])
    plan = plan_import(rows, known, branches, chosen)
    makes = bool(rows) and not branches
    return plan, (branch_name or FIRST_BRANCH) if makes else ""


def _chosen(branches: Sequence[KnownBranch], name: str) -> int | None:
    if not name or not branches:
        return None
    for branch in branches:
        if branch.name.casefold() == name.strip().casefold():
            return branch.pk
    known = ", ".join(branch.name for branch in branches)
    raise Refused("branch", f"There is no branch called {name}. Branches: {known}.")
