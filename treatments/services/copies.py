"""Copies of records: which notice carried which entry, and the items that evidence closes."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.selectors.open_items import things_open
from accounts.services.audit import close_items
from accounts.services.notices import forget
from treatments.models import RecordCopy
from treatments.rules.audit.kinds import COPY, CORRECTED_COPY
from treatments.selectors.audit import keys_of, thing_of
from treatments.selectors.copies import Chains, earlier_of, known_of, later_of

if TYPE_CHECKING:
    from accounts.models import Notice

GIVEN = "The copy was given."


def name_entries(notice: Notice, record_ids: Collection[int]) -> None:
    """Keep which entries a notice carries, as they stand now; said again it changes nothing."""
    for key in sorted(record_ids):
        RecordCopy.objects.get_or_create(record_id=key, notice=notice)


@transaction.atomic
def settle_given(*, now: datetime) -> int:
    """Close what waits for a copy that evidence says was given; how many were closed.

    A corrected copy is one of the correcting entry or of a later one; a copy that was never given
    is answered by one of any version.
    """
    waiting = keys_of(things_open([CORRECTED_COPY]))
    missing = keys_of(things_open([COPY]))
    return _close(CORRECTED_COPY, later_of(waiting), now) + _close(COPY, earlier_of(missing), now)


def _close(code: str, chains: Chains, now: datetime) -> int:
    known = known_of({entry for chain in chains.values() for entry in chain})
    given = {entry for entry, said in known.items() if "copy" in said}
    return sum(
        close_items(code=code, thing=thing_of(key), note=GIVEN, now=now)
        for key, chain in chains.items()
        if given & set(chain)
    )


def forget_copies(record_ids: Collection[int], now: datetime) -> int:
    """Forget whom copies of these records went to and what they said, with the records' own."""
    links = RecordCopy.objects.filter(record__in=record_ids)
    return forget(notice_ids=set(links.values_list("notice_id", flat=True)), now=now)
