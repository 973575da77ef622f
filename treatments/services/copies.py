"""Copies of records: which notice carried which entry, and the items that evidence closes."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.rules.notices import Evidence
from accounts.selectors.open_items import things_answered, things_open
from accounts.services.audit import close_items, open_item
from accounts.services.notices import forget, settle_not_sent
from treatments.models import ApplicationRecord, RecordCopy
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


@transaction.atomic
def settle_paper(*, record_ids: Collection[int], now: datetime) -> int:
    """A paper of these entries was handed over: e-mails with no more than them need no second try.

    How many items were closed. Whoever of the customer's got the paper, the copy arrived (house
    rule).
    """
    links = RecordCopy.objects.filter(notice__in=_carrying(record_ids))
    more = links.exclude(record__in=record_ids).values_list("notice_id", flat=True)
    return settle_not_sent(notice_ids=_carrying(record_ids) - set(more), now=now)


def _carrying(record_ids: Collection[int]) -> set[int]:
    rows = RecordCopy.objects.filter(record__in=record_ids)
    return set(rows.values_list("notice_id", flat=True))


@transaction.atomic
def reopen_bounced(*, now: datetime) -> int:
    """Ask again for a corrected copy that came back after it had answered its item; how many.

    What a person closed with a note of their own stays closed.
    """
    came_back = RecordCopy.objects.filter(notice__evidence__kind=Evidence.BOUNCED)
    keys = set(came_back.values_list("record_id", flat=True))
    if not keys:
        return 0
    entries = {entry for chain in earlier_of(keys).values() for entry in chain}
    answered = things_answered(CORRECTED_COPY, [thing_of(key) for key in entries], GIVEN)
    chains = later_of(keys_of(answered))
    known = known_of({entry for chain in chains.values() for entry in chain})
    lost = [key for key, chain in chains.items() if not _is_given(chain, known)]
    for record in ApplicationRecord.objects.filter(pk__in=lost).order_by("pk"):
        open_item(branch_id=record.branch_id, code=CORRECTED_COPY, thing=record, sentence=(
            f"The corrected copy of record {record.pk} came back. Give it another way."
        ))  # fmt: skip
    return len(lost)


def _is_given(chain: Collection[int], known: Mapping[int, frozenset[str]]) -> bool:
    return any("copy" in known.get(entry, ()) for entry in chain)


def forget_copies(record_ids: Collection[int], now: datetime) -> int:
    """Forget whom copies of these records went to and what they said, with the records' own."""
    links = RecordCopy.objects.filter(record__in=record_ids)
    return forget(notice_ids=set(links.values_list("notice_id", flat=True)), now=now)
