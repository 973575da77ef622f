"""A visit that ends while a record of it still waits for another load of its product."""

from __future__ import annotations

from accounts.services.audit import open_item
from treatments.selectors.same_visit import awaiting


def tell_of_missing_loads(*, visit_ref: str) -> None:
    """Open an item for each record that was under the label's least and whose next load is missing.

    With the record it was a note, since the sum was to be judged with the next one.
    """
    for record in awaiting(visit_ref):
        open_item(
            branch_id=record.branch_id,
            code="load_missing",
            thing=record,
            sentence=f"Record {record.pk} is under the least of its label and said that another "
            "load follows; the stop ended without one. Enter it, or correct the record.",
        )
