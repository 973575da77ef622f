"""The answer of the inspection desk to one question; the caller may see the whole branch."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import Min

from accounts.refusals import Refused
from treatments.models import ApplicationRecord, LogEntry, LogFrontier, ProductLot
from treatments.rules.bundles import BundleScope
from treatments.rules.desk import DeskAnswer, DeskList, DeskProof
from treatments.rules.log_proofs import Tree
from treatments.rules.log_tree import leaf_hash
from treatments.selectors.bundles import record_keys
from treatments.selectors.desk_copies import copies_list
from treatments.selectors.desk_incidents import incident_list
from treatments.selectors.desk_lists import open_list, people_list, rules_list, weather_list
from treatments.selectors.desk_records import Histories, desk_records, histories_of
from treatments.selectors.desk_stock import label_list, lot_list, lots_of_records
from treatments.selectors.desk_training import training_list
from treatments.selectors.log_heads import heads_inside, newest
from treatments.selectors.windows import in_portions

if TYPE_CHECKING:
    from accounts.models import Branch

MOST_RECORDS = 3000
NOT_HERE = (
    "Telephone numbers of customers and notes on how to get in are never shown at the desk.",
)


@dataclass(frozen=True)
class Question:
    """What is asked at the desk of a branch, in words; `notes` say what could not be looked at."""

    scope: BundleScope
    words: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Gathered:
    """Everything a question found, before it is put in words."""

    histories: Histories
    lots: list[ProductLot]


@dataclass(frozen=True)
class Made:
    """What the records of a branch name: products and people by name, and their first day."""

    products: list[str]
    people: list[tuple[int, str]]
    first_day: date | None


def made_at(branch_id: int) -> Made:
    """What a question about the records of a branch may choose from; one query."""
    rows = ApplicationRecord.objects.filter(branch_id=branch_id)
    names = rows.order_by("applicator__full_name", "applicator_id", "product_name")
    who = names.values_list("applicator_id", "applicator__full_name", "product_name")
    found = list(who.annotate(first=Min("applied_on")))
    return Made(
        products=sorted({product for _, _, product, _ in found} - {""}),
        people=list(dict.fromkeys((pk, name) for pk, name, _, _ in found)),
        first_day=min((first for *_, first in found), default=None),
    )


def know_lot(branch_id: int, number: str) -> str:
    """The number of a lot as it was received; refused when no such lot came to the branch."""
    lots = ProductLot.objects.filter(branch_id=branch_id, lot_number__iexact=number)
    found = lots.values_list("lot_number", flat=True).first()
    if found is None:
        raise Refused(
            "lot", f"No lot {number!r} came to this branch. Compare it with the container.",
            field="lot",
        )  # fmt: skip
    return found


def properties_with_records(branch_id: int, scope: BundleScope) -> set[int]:
    """The properties of a branch that have a record in the days of a scope."""
    rows = ApplicationRecord.objects.filter(
        branch_id=branch_id, applied_on__range=(scope.since, scope.until)
    )
    return set(rows.order_by().values_list("property_id", flat=True).distinct())


def gather(question: Question) -> Gathered:
    """The whole histories and the lots. Refused: more records than a paper holds."""
    keys = record_keys(question.scope)
    if len(keys) > MOST_RECORDS:
        raise Refused(
            "desk",
            f"{len(keys):,} entries fit this question and the desk shows {MOST_RECORDS:,}. Narrow "
            "it by days, product or person, or take the bundle of these days from the log proof.",
        )
    scope = question.scope
    return Gathered(histories_of(keys), lots_of_records(keys, scope.branch_id, scope.lot))


def answer(
    question: Question,
    found: Gathered,
    branch: Branch,
    now: datetime,
    *,
    notices: DeskList,
    proved: bool = False,
    demo: bool = False,
) -> DeskAnswer:
    """Everything about one question; `proved`: the log is walked and the leaves compared."""
    labels, files = label_list(found.histories, found.lots)
    records = desk_records(found.histories)
    return DeskAnswer(
        question=question.words,
        notes=question.notes,
        as_of=now.astimezone(ZoneInfo(branch.time_zone)),
        branch_name=branch.name,
        business_license=branch.business_license_number,
        records=records,
        lists=(
            people_list(found.histories),
            training_list(found.histories),
            labels,
            weather_list(found.histories),
            notices,
            copies_list(found.histories),
            lot_list(found.histories, found.lots),
            incident_list(found.histories, question.scope, branch, now),
            rules_list(found.histories),
            open_list(found.histories, now),
        ),
        files=tuple(files),
        proof=_proof(branch, [one.pk for one in records] if proved else None),
        not_here=NOT_HERE,
        demo=demo,
    )


def _proof(branch: Branch, keys: list[int] | None) -> DeskProof | None:
    """Where the log ends, and what does not agree when the records' leaves are asked for."""
    frontier = LogFrontier.objects.filter(branch=branch).first()
    if frontier is None:
        return None
    head = newest(heads_inside(branch.pk))
    proof = DeskProof(
        branch_name=branch.name,
        size=frontier.size,
        signed_size=head.size if head else 0,
        signed_at=datetime.fromisoformat(head.at) if head else None,
        signed_root=head.root if head else "",
        key=head.key if head else "",
    )
    return (
        replace(proof, differences=tuple(_differences(branch.pk, proof, keys))) if keys else proof
    )


def _differences(branch_id: int, proof: DeskProof, keys: list[int]) -> Iterable[str]:
    """Leaves that are not what their hash says, or a signed root that the hashes do not give."""
    rows = LogEntry.objects.filter(branch_id=branch_id)
    signed = rows.filter(seq__lt=proof.signed_size).order_by("seq")
    tree = Tree.of(signed.values_list("leaf_hash", flat=True))
    if tree.root.hex() != proof.signed_root:
        yield "The leaves of the log do not give the root that was signed. Verify the log."
    for portion in in_portions(keys):
        for entry in rows.filter(record__in=portion).order_by("seq"):
            if leaf_hash(bytes(entry.leaf)).hex() != entry.leaf_hash:
                yield f"Leaf {entry.seq} is not what its hash says. Verify the log."
