"""Beside the records of a question: labels with their papers, and lots from purchase to empty."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef

from accounts.rules.day_words import short_day
from treatments.models import (
    ApplicationRecord,
    LabelFile,
    LabelVerification,
    LabelVersion,
    ProductLot,
    StockMove,
)
from treatments.rules.desk import DeskFile, DeskList, counted
from treatments.rules.products import FILE_KIND_WORDS, FileKind
from treatments.rules.stock import MOVE_WORDS, MoveKind
from treatments.selectors.desk_lists import counting
from treatments.selectors.desk_records import Histories
from treatments.selectors.stock_rows import shown
from treatments.selectors.windows import in_portions


def label_list(histories: Histories, lots: Iterable[ProductLot]) -> tuple[DeskList, list[DeskFile]]:
    """The label versions of the records and lots, each paper of them kept here or named missing."""
    used = Counter(record.label_version_id for record in counting(histories))
    keys = {key for key in used if key} | {lot.label_version_id for lot in lots}
    seen = LabelVerification.objects.filter(label_version=OuterRef("pk"))
    labels = LabelVersion.objects.filter(pk__in=keys).select_related("product")
    labels = labels.annotate(is_verified=Exists(seen)).order_by("product__name", "label_date")
    papers = LabelFile.objects.filter(label_version__in=keys).defer("content")
    files = {(one.label_version_id, one.kind): one for one in papers}
    rows, kept, missing = [], [], []
    for label in labels:
        found = [files.get((label.pk, kind.value)) for kind in FileKind]
        rows.append(_label_row(label, found, used[label.pk]))
        kept += [_file(label, one) for one in found if one]
        missing += [
            f"{FILE_KIND_WORDS[kind]} of {label} is not kept here."
            for kind, one in zip(FileKind, found, strict=True)
            if one is None
        ]
    head = ("Product", "Label of", "Compared by a second person", *FILE_KIND_WORDS.values())
    said = counted(len(rows), "label version")
    title = "Labels and safety data sheets"
    return DeskList("labels", title, said, (*head, "Records"), tuple(rows), tuple(missing)), kept


def _label_row(
    label: LabelVersion, papers: list[LabelFile | None], records: int
) -> tuple[str, ...]:
    product = f"{label.product.name} {label.product.registration_number}".strip()
    verified = "yes" if label.is_verified else "no"  # type: ignore[attr-defined]
    words = [f"SHA-256 {one.sha256[:16]}" if one else "missing" for one in papers]
    if label.safety_sheet_date:
        words[1] += f", dated {short_day(label.safety_sheet_date, True)}"
    return product, short_day(label.label_date, True), verified, *words, str(records)


def _file(label: LabelVersion, one: LabelFile) -> DeskFile:
    kind = FILE_KIND_WORDS[FileKind(one.kind)]
    return DeskFile(label.pk, one.kind, f"{kind} of {label}", one.name, one.sha256)


def lots_of_records(keys: Collection[int], branch_id: int | None, number: str) -> list[ProductLot]:
    """The lots that records took from, and those of a number that is asked for."""
    lots = ProductLot.objects.select_related("label_version__product", "branch")
    found: dict[int, ProductLot] = {}
    for portion in in_portions(sorted(keys)):
        moves = StockMove.objects.filter(record__in=portion).order_by()
        found |= {lot.pk: lot for lot in lots.filter(pk__in=moves.values("lot"))}
    rows = list(found.values())
    if number:
        named = lots.filter(lot_number__iexact=number).exclude(pk__in=found)
        rows += named.filter(branch_id=branch_id) if branch_id else named
    return sorted(rows, key=lambda lot: (lot.received_on, lot.pk))


def lot_list(histories: Histories, lots: list[ProductLot]) -> DeskList:
    """Every move of each lot from its purchase on, with what was left after it."""
    moves: dict[int, list[StockMove]] = defaultdict(list)
    rows = StockMove.objects.filter(lot__in=lots).select_related("from_place", "to_place")
    for move in rows.order_by("at", "pk"):
        moves[move.lot_id].append(move)
    records = [record for record in counting(histories) if record.product_name]
    named = {move.record_id for some in moves.values() for move in some}
    bare = sum(record.pk not in named for record in records)
    return DeskList(
        "lots",
        "Lots from purchase to empty",
        counted(len(lots), "lot"),
        ("Lot", "Day", "Move", "Where", "Amount", "Left", "Note"),
        tuple(line for lot in lots for line in _moves(lot, moves[lot.pk])),
        (f"{counted(bare, 'record')} with a product and no lot.",) if bare else (),
    )


def _moves(lot: ProductLot, moves: list[StockMove]) -> Iterator[tuple[str, ...]]:
    clock, left = ZoneInfo(lot.branch.time_zone), 0
    for move in moves:
        left += (move.quantity if move.to_place else 0) - (move.quantity if move.from_place else 0)
        places = [place.name for place in (move.from_place, move.to_place) if place]
        yield (
            f"{lot.lot_number}, {lot.label_version.product.name}",
            short_day(move.at.astimezone(clock).date(), True),
            MOVE_WORDS[MoveKind(move.kind)],
            " to ".join(places),
            shown(move.quantity, lot.container_unit),
            shown(left, lot.container_unit),
            _note(lot, move),
        )


def _note(lot: ProductLot, move: StockMove) -> str:
    bought = move.kind == MoveKind.RECEIVE and not move.corrects_id
    buyer = f"bought by {lot.buyer} {lot.buyer_license}".strip() if lot.buyer else ""
    invoice = f"invoice {lot.invoice}" if lot.invoice else ""
    parts = [f"from {lot.dealer}", invoice, buyer] if bought else []
    parts += [f"record {move.record_id}"] if move.record_id else []
    parts += ["takes back an earlier move"] if move.corrects_id else []
    return ", ".join(part for part in (*parts, move.reason, move.disposed_how, move.disposed_where)
                     if part)  # fmt: skip


def labels_at(branch_id: int) -> set[int]:
    """The label versions that a branch has used or bought: whose papers its desk hands over."""
    used = ApplicationRecord.objects.filter(branch_id=branch_id, label_version__isnull=False)
    bought = ProductLot.objects.filter(branch_id=branch_id)
    return {
        key
        for rows in (used.order_by(), bought.order_by())
        for key in rows.values_list("label_version_id", flat=True).distinct()
        if key
    }
