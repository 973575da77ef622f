"""A withdrawn label is a matter of every branch that still holds something under it."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from accounts.rules.day_words import short_day
from accounts.selectors.people import branches_for
from accounts.services.audit import close_items, keep_item, name_of
from treatments.models import ApplicationRecord, LabelVersion, Load
from treatments.selectors.loads import load_key
from treatments.selectors.recalls import Held, held_under, withdrawn_label, withdrawn_labels
from treatments.selectors.withdrawals import withdrawal_of

RECALL = "label_withdrawn"
NONE_LEFT = "Nothing under this label is on hand or in a tank any more."
LIFTED = "The withdrawal is lifted."
MOST_NAMED = 12


def keep_recall(*, label_version_id: int, branch_id: int, now: datetime) -> None:
    """Say anew what a branch holds under a label, where that one is withdrawn; one query if not."""
    version = withdrawn_label(label_version_id)
    if version is not None:
        _keep(version, [branch_id], now)


def keep_recall_of_load(load: Load, now: datetime) -> None:
    """Say anew what the branch of a load holds, where a label of it is withdrawn."""
    for row in load.products:
        keep_recall(label_version_id=row.label_version_id, branch_id=load.branch_id, now=now)


def keep_recall_of_record(record: ApplicationRecord, now: datetime) -> None:
    """As `keep_recall_of_load`, of the load that a record names; nothing without one."""
    key = load_key(record.load_ref)
    load = Load.objects.filter(client_ref=key).prefetch_related("also").first() if key else None
    if load is not None:
        keep_recall_of_load(load, now)


def keep_recalls(*, now: datetime) -> None:
    """Say of every withdrawn label what each branch holds: loads that ended leave the list."""
    for version in withdrawn_labels():
        tell_branches(version, now)


def tell_branches(version: LabelVersion, now: datetime) -> None:
    """Open one item a branch that holds something under a withdrawn label, close the others."""
    _keep(version, _branches(), now)


def close_recalls(version: LabelVersion, now: datetime) -> None:
    """Close the items of a label that may be used again."""
    for branch_id in _branches():
        close_items(code=RECALL, thing=_of_branch(version, branch_id), note=LIFTED, now=now)


def _branches() -> list[int]:
    return [branch.pk for branch in branches_for(None)]


def _keep(version: LabelVersion, branch_ids: Collection[int], now: datetime) -> None:
    held = held_under(version, branch_ids, now)
    for branch_id in branch_ids:
        here = [one for one in held if one.branch_id == branch_id]
        keep_item(
            branch_id=branch_id,
            code=RECALL,
            thing=_of_branch(version, branch_id),
            sentence=_sentence(version, here) if here else "",
            gone=(NONE_LEFT, LIFTED),
            now=now,
        )


def _of_branch(version: LabelVersion, branch_id: int) -> str:
    return f"{name_of(version)} branch:{branch_id}"


def _sentence(version: LabelVersion, held: list[Held]) -> str:
    row = withdrawal_of(version)
    last = row.not_to_be_used_after if row else None
    until = f", not to be used after {short_day(last, True)}" if last else ""
    because = f": {row.reason.rstrip('.')}" if row else ""
    named = "; ".join(one.words for one in held[:MOST_NAMED])
    more = len(held) - MOST_NAMED
    rest = f"; and {more} more on the page of the label" if more > 0 else ""
    return (
        f"{version} is withdrawn{until}{because}. Still held: {named}{rest}. After that day put "
        "none of it out: return it to the dealer, or dispose of it as its label says, and record "
        "that."
    )
