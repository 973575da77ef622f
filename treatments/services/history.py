"""Taking over last treatments from a firm's spreadsheet (DEVELOPERS.md, Decisions)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from sites.rules.places import PestGroup
from sites.services.locks import lock_properties_of_zones
from treatments.models import HistoricBatch, HistoricTreatment, ResidualWindow
from treatments.rules.applications import HistoricRow
from treatments.rules.residual import window, window_days
from treatments.selectors.windows import historic_of, in_portions
from treatments.services.log import append_leaf
from treatments.services.protections import new_window, refresh_protections

if TYPE_CHECKING:
    from accounts.models import Person

ROWS_A_WRITING = 1000
LONGEST_PRODUCT, LONGEST_NAME = 160, 120


@transaction.atomic
def record_history(
    *,
    branch_id: int,
    file_name: str,
    file_sha256: str,
    rows: Sequence[HistoricRow],
    by: Person | None,
    now: datetime,
) -> HistoricBatch | None:
    """Take over last treatments, with a window for each row that says a residual.

    A (zone, day) that is known already is no change; when all are, nothing is written and the
    answer is None. Missing facts stay missing. Refused: a day in the future, a residual no label
    has, a text too long. One leaf a batch, by whom, with the digest of the file.
    """
    require(by, Permission.IMPORT_ACCOUNTS)
    _refuse_impossible(rows, now)
    zone_ids = {row.zone_id for row in rows}
    for portion in in_portions(sorted(zone_ids)):
        lock_properties_of_zones(portion)
    new = _unknown(rows)
    if not new:
        return None
    batch = HistoricBatch.objects.create(
        branch_id=branch_id,
        file_name=file_name[:200],
        file_sha256=file_sha256,
        rows=len(new),
        created_by=by,
    )
    _open_windows(_create_treatments(batch, new, by), by)
    refresh_protections(row.zone_id for row in new)
    note_event(by=by, act="record_history", thing=batch, now=now, rows=len(new))
    _append(batch, by, now)
    return batch


def _refuse_impossible(rows: Iterable[HistoricRow], now: datetime) -> None:
    for row in rows:
        # a day begins somewhere on earth up to 14 hours before it does in UTC
        if (row.applied_on - now.date()).days > 1:
            raise Refused("history", f"{row.applied_on} has not come yet. Correct the date.")
        if row.residual_days is not None:
            window_days(row.residual_days)
        if len(row.product) > LONGEST_PRODUCT or len(row.applicator) > LONGEST_NAME:
            raise Refused("history", f"{row.product[:40]!r}: product or applicator is too long.")


def _unknown(rows: Sequence[HistoricRow]) -> list[HistoricRow]:
    known = set(historic_of({row.zone_id for row in rows}))
    once = {(row.zone_id, row.applied_on): row for row in reversed(rows)}
    return [row for key, row in reversed(once.items()) if key not in known]


def _create_treatments(
    batch: HistoricBatch, rows: Sequence[HistoricRow], by: Person | None
) -> list[HistoricTreatment]:
    return HistoricTreatment.objects.bulk_create(
        (
            HistoricTreatment(
                batch=batch,
                zone_id=row.zone_id,
                product_as_written=row.product,
                applicator_as_written=row.applicator,
                applied_on=row.applied_on,
                residual_days=row.residual_days,
                created_by=by,
            )
            for row in rows
        ),
        batch_size=ROWS_A_WRITING,
    )


def _open_windows(treatments: Iterable[HistoricTreatment], by: Person | None) -> None:
    claimed = (one for one in treatments if one.residual_days is not None)
    ResidualWindow.objects.bulk_create(
        (_window(one, one.residual_days or 0, by) for one in claimed), batch_size=ROWS_A_WRITING
    )


def _window(treatment: HistoricTreatment, claim: int, by: Person | None) -> ResidualWindow:
    return new_window(
        window(treatment.applied_on, claim),
        zone_id=treatment.zone_id,
        pest_group=PestGroup.GENERAL,
        by=by,
        historic=treatment,
    )


def _append(batch: HistoricBatch, by: Person | None, now: datetime) -> None:
    append_leaf(
        branch_id=batch.branch_id,
        kind="history",
        payload={
            "version": 1,
            "batch": batch.pk,
            "file_sha256": batch.file_sha256,
            "rows": batch.rows,
        },
        record=None,
        by=by,
        now=now,
    )
