"""The audit of records of use: items opened at recording and at night, closed when all is well."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING

from accounts.rules.item_watch import Steps
from accounts.services.audit import note_event
from accounts.services.item_watch import move_items, open_found, settle_items
from treatments.rules.audit.kinds import COPY, RECORD_KINDS, TIMES
from treatments.rules.use_reports import report_year
from treatments.selectors.audit import (
    AUDITED,
    findings_in,
    findings_of,
    thing_of,
    to_look_at,
    was_audited,
)
from treatments.selectors.windows import in_portions
from treatments.services.protection_check import check_protections
from treatments.services.total_findings import check_totals

if TYPE_CHECKING:
    from treatments.models import ApplicationJudgement, ApplicationRecord

RECORDS_A_BATCH = 400
AT_ONCE = frozenset(RECORD_KINDS) - {TIMES, COPY}


def settle_record(
    record: ApplicationRecord,
    said: Mapping[str, str],
    judged: Iterable[ApplicationJudgement],
) -> None:
    """Open what is wrong with a record that was just stored; nothing is written for a good one.

    `said` are its personal values. What other records say too is looked at in the night. Nobody
    can have answered an item about it before it was there, so that none is looked for.
    """
    open_found(findings_in(record, said, judged))


def settle_entry(
    before: ApplicationRecord, record: ApplicationRecord, said: Mapping[str, str], now: datetime
) -> None:
    """What was open or answered about `before` is so about the entry in its place; gaps close.

    A void closes everything: what is not counted lacks nothing.
    """
    after = thing_of(record.pk)
    move_items(codes=RECORD_KINDS, before=thing_of(before.pk), after=after)
    is_void = record.entry == record.Entry.VOID
    found = [] if is_void else findings_in(record, said, record.judgements.all())
    codes = RECORD_KINDS if is_void else AT_ONCE
    settle_items(codes=codes, findings=found, looked_at=[after], now=now)


def audit_records(*, today: date, now: datetime) -> tuple[int, int]:
    """Look at the records anew, batch by batch; how many items were opened and closed.

    `today` is the day of the firm. Run again it changes nothing. Each batch is a transaction.
    """
    opened = closed = 0
    for keys in in_portions(to_look_at(today), RECORDS_A_BATCH):
        done = _settled(keys, today, now)
        opened, closed = opened + len(done.opened), closed + len(done.closed)
    told = {"day": today.isoformat(), "opened": opened, "closed": closed}
    note_event(by=None, act=AUDITED, thing="records", now=now, **told)
    return opened, closed


def _settled(keys: list[int], today: date, now: datetime) -> Steps:
    return settle_items(
        codes=RECORD_KINDS,
        findings=findings_of(keys, today),
        looked_at=[thing_of(key) for key in keys],
        now=now,
    )


def audit_once_a_day(*, today: date, now: datetime) -> None:
    """Audit records, protections and, against the log, totals: once on a day of the firm.

    The totals are those of this year and, in January, of the one that is reported then.
    """
    if was_audited(today):
        return
    audit_records(today=today, now=now)
    check_protections(now=now)
    for year in sorted({today.year, report_year(today)}):
        check_totals(year=year, now=now)
