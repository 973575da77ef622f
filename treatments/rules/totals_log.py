"""The same totals once more from the leaves of the log, and where the two differ.

Nothing here knows the tables: an entry that a later leaf follows does not count, nor does a void.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from treatments.rules.totals import Cell, ProductKey, Tally, zip5

VOID = "void"


@dataclass(frozen=True)
class Scope:
    """What a report is about; an empty value is everything, `branches` are always named."""

    branches: frozenset[int]
    since: date
    until: date
    state: str = ""
    county: str = ""
    zip_code: str = ""
    product: str = ""
    applicator_id: int | None = None

    def holds(self, said: Mapping[str, Any]) -> bool:
        """Whether a record, by the columns in its leaf, is in the scope."""
        wanted = (
            ("state", self.state),
            ("county", self.county),
            ("product_name", self.product),
            ("applicator_id", self.applicator_id),
        )
        return (
            said["branch_id"] in self.branches
            and self.since.isoformat() <= said["applied_on"] <= self.until.isoformat()
            and all(value in ("", None) or said[name] == value for name, value in wanted)
            and self.zip_code in ("", zip5(said["zip_code"]))
        )


@dataclass(frozen=True, order=True)
class LedgerKey:
    """What is compared: one product in one branch."""

    branch_id: int
    product: ProductKey


Ledger = Mapping[LedgerKey, Tally]


@dataclass(frozen=True)
class Difference:
    """One product of a branch that records and log tell differently."""

    key: LedgerKey
    records: Tally
    log: Tally


@dataclass(frozen=True)
class Reconciled:
    """Both totals, and every difference between them; whole when there is none."""

    records: Tally
    log: Tally
    differences: tuple[Difference, ...]

    @property
    def is_whole(self) -> bool:
        return not self.differences


def ledger_of_leaves(leaves: Iterable[bytes], scope: Scope) -> Ledger:
    """Add up the records in these leaves that still count, by branch and product.

    `leaves` are canonical bytes; those of anything but a record are passed over.
    """
    followed: set[int] = set()
    counted: dict[int, tuple[LedgerKey, Tally]] = {}
    for leaf in leaves:
        entry = json.loads(leaf)
        said = (entry.get("payload") or {}).get("record")
        if not isinstance(said, dict) or entry.get("record_id") is None:
            continue
        if said["corrects_id"] is not None:
            followed.add(said["corrects_id"])
        if said["entry"] != VOID and scope.holds(said):
            counted[entry["record_id"]] = _key(said), _tally(said)
    return _added_up(counted[pk] for pk in counted.keys() - followed)


def ledger_of_cells(cells: Iterable[Cell]) -> Ledger:
    """What a report says, by branch and product: compared is what is printed."""
    return _added_up((LedgerKey(cell.branch_id, cell.product), cell.tally) for cell in cells)


def _key(said: Mapping[str, Any]) -> LedgerKey:
    product = ProductKey(said["product_name"], said["registration_number"])
    return LedgerKey(said["branch_id"], product)


def _tally(said: Mapping[str, Any]) -> Tally:
    ul, mg = said["product_ul"], said["product_mg"]
    return Tally(1, int(ul is not None), int(mg is not None), ul or 0, mg or 0)


def _added_up(rows: Iterable[tuple[LedgerKey, Tally]]) -> Ledger:
    sums: defaultdict[LedgerKey, Tally] = defaultdict(Tally)
    for key, tally in rows:
        sums[key] += tally
    return dict(sums)


def reconcile(records: Ledger, log: Ledger) -> Reconciled:
    """Compare what records and log say, to the last unit, product by product."""
    differences = tuple(
        Difference(key, records.get(key, Tally()), log.get(key, Tally()))
        for key in sorted(records.keys() | log.keys())
        if records.get(key, Tally()) != log.get(key, Tally())
    )
    return Reconciled(sum(records.values(), Tally()), sum(log.values(), Tally()), differences)


def tally_words(tally: Tally) -> str:
    """3 records, 141,953 µL, 0 mg."""
    record = "record" if tally.records == 1 else "records"
    return f"{tally.records:,} {record}, {tally.ul:,} µL, {tally.mg:,} mg"


def reconciled_words(found: Reconciled | None, branches: Mapping[int, str]) -> tuple[str, ...]:
    """What the comparison says, one sentence a line; the first one is the result."""
    if found is None:
        return ("Not compared with the log yet.",)
    here, log = tally_words(found.records), tally_words(found.log)
    if found.is_whole:
        return (f"Reconciled with the log: {here}; the leaves give {log}, product by product.",)
    result = f"Does not agree with the log (check A21): {here} here, {log} in the log."
    return (result, *(_difference_words(one, branches) for one in found.differences))


def _difference_words(one: Difference, branches: Mapping[int, str]) -> str:
    product = " ".join((one.key.product.name, one.key.product.registration_number)).strip()
    where = branches.get(one.key.branch_id, f"branch {one.key.branch_id}")
    here, log = tally_words(one.records), tally_words(one.log)
    return f"{product or 'Work without a product'}, {where}: {here} here, {log} in the log."
