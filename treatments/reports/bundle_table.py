"""The records of a bundle as a table: which column is which part of a record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from treatments.rules.bundles import BundleRecord

COLUMNS = (
    ("Record", "record_id"),
    ("Leaf", "seq"),
    ("Entry", "said.record.entry"),
    ("Follows record", "said.record.corrects_id"),
    ("In force", "in_force"),
    ("Why", "said.record.correction_reason"),
    ("Applied on", "said.record.applied_on"),
    ("Started (UTC)", "said.record.started_at"),
    ("Finished (UTC)", "said.record.finished_at"),
    ("Customer", "personal.customer_name.value"),
    ("Billing address", "personal.billing_address.value"),
    ("Street", "personal.street.value"),
    ("City", "said.record.city"),
    ("County", "said.record.county"),
    ("State", "said.record.state"),
    ("ZIP", "said.record.zip_code"),
    ("Product", "said.record.product_name"),
    ("Registration number", "said.record.registration_number"),
    ("Restricted use", "said.record.is_restricted_use"),
    ("Product used", "said.record.product_amount"),
    ("Unit", "said.record.product_unit"),
    ("Finished spray", "said.record.finished_amount"),
    ("Unit of finished spray", "said.record.finished_unit"),
    ("Treated area, square mm", "said.record.area_mm2"),
    ("Treated length, mm", "said.record.length_mm"),
    ("Wall runs", "said.runs.name"),
    ("Left out because", "said.runs.reason"),
    ("Method", "said.record.method"),
    ("Work without a product", "said.record.work_kinds"),
    ("What was done", "personal.work_done.value"),
    ("Equipment", "said.record.equipment"),
    ("Wind, mph", "said.record.wind_mph"),
    ("Temperature, F", "said.record.temperature_f"),
    ("Applicator", "personal.applicator_name.value"),
    ("License", "said.record.license_number"),
    ("Supervisor", "personal.supervisor_name.value"),
    ("Supervisor's license", "said.record.supervisor_license_number"),
    ("Firm", "said.record.branch_name"),
    ("Business license", "said.record.business_license_number"),
    ("Re-entry", "said.record.reentry_text"),
    ("Notes", "personal.notes.value"),
    ("Kept until", "said.record.retain_until"),
)


def part_of(record: Any, path: str) -> str:
    """One part of a record's line by its path, as text; empty where there is none.

    Of a list each member says its part: "; fence" is a run treated and one left out for a fence.
    """
    if isinstance(record, list):
        return "; ".join(part_of(one, path) for one in record)
    if path:
        name, _, rest = path.partition(".")
        return part_of(record.get(name) if isinstance(record, Mapping) else None, rest)
    if isinstance(record, bool):
        return "yes" if record else "no"
    return "" if record is None else str(record)


def cells(record: BundleRecord) -> tuple[str, ...]:
    """A record as one row under `COLUMNS`."""
    plain = record.plain()
    return tuple(part_of(plain, path) for _, path in COLUMNS)
