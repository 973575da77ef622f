"""Rows that can never change again, kept by each process once it has read them.

That are a label which a record or a load relies on, with its product, directions, limits and
protections, and a version of a rule that a record follows: the database itself refuses every
change of them (`GUARDS` of labels and profiles). Nothing is kept from within a transaction, which
may still be rolled back, and each asking gets a copy of its own. What may change is asked every
time: withdrawals, a verification that is still to come, names of pests and ingredients.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django.core.cache import caches
from django.db import connection
from django.db.models import prefetch_related_objects

from treatments.models import ApplicationRecord, LabelUse, Load

Row = TypeVar("Row")


def kept(key: str, read: Callable[[], Row | None]) -> Row | None:
    """What is kept under a key; where nothing is, what `read` gives is kept, unless that is None.

    None within a transaction: the caller reads by itself.
    """
    if connection.in_atomic_block:
        return None
    store = caches["settled"]
    found: Row | None = store.get(key)
    if found is None:
        found = read()
        if found is not None:
            store.set(key, found)
    return found


def used_direction(pk: int) -> LabelUse | None:
    """A direction of a label that is in use, with all that is frozen of it; None for any other.

    Directions, limits, protections, product and its ingredients' shares; not `firm_rate`.
    """
    return kept(f"direction:{pk}", lambda: _used_direction(pk))


def _used_direction(pk: int) -> LabelUse | None:
    # asked first: what is read afterwards is frozen by then
    by_label = {"label_version__uses": pk}
    if not (
        ApplicationRecord.objects.filter(**by_label).exists()
        or Load.objects.filter(**by_label).exists()
    ):
        return None
    use = LabelUse.objects.select_related("label_version__product").get(pk=pk)
    frozen = ("limits", "protections", "product__ingredients")
    prefetch_related_objects([use], *(f"label_version__{name}" for name in frozen))
    if use.label_version.verifications.exists():
        # once verified it stays so
        prefetch_related_objects([use], "label_version__verifications")
    return use
