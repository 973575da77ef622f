"""What the label sheets show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.http import Http404

from sites.selectors.pests import pests
from treatments.models import (
    ApplicationRecord,
    LabelFile,
    LabelLimit,
    LabelUse,
    LabelVersion,
    Product,
)
from treatments.rules.label_lines import Change, Line, compare, lines
from treatments.selectors.label_copies import as_entered
from treatments.selectors.labels import labels_in_force


@dataclass(frozen=True)
class VersionRow:
    """A label and how it stands: `state` is draft, in_force, coming, superseded or withdrawn."""

    version: LabelVersion
    state: str
    word: str
    is_verified: bool


@dataclass(frozen=True)
class LabelPage:
    """One label with its facts, who verified it and what may still be done."""

    row: VersionRow
    parts: dict[str, list[Line]]
    files: list[LabelFile]
    uses: list[LabelUse]
    limits: list[LabelLimit]
    verified_by: list[str]
    is_editable: bool
    is_used: bool
    older_pk: int | None


STATE_WORDS = {
    "draft": "Being entered",
    "in_force": "In force",
    "coming": "Not begun",
    "superseded": "Superseded",
    "withdrawn": "Withdrawn",
}


def label_rows(today: date) -> list[tuple[Product, list[VersionRow]]]:
    """Every product with its labels, newest first; a fixed few queries."""
    in_force = set(labels_in_force(today).values_list("pk", flat=True))
    found = Product.objects.prefetch_related("labels__verifications", "ingredients__ingredient")
    return [
        (product, [_row(version, today, in_force) for version in product.labels.all()])
        for product in found
    ]


def _row(version: LabelVersion, today: date, in_force: set[int]) -> VersionRow:
    state = _state(version, today, in_force)
    return VersionRow(version, state, STATE_WORDS[state], bool(version.verifications.all()))


def _state(version: LabelVersion, today: date, in_force: set[int]) -> str:
    if version.is_draft:
        return "draft"
    if version.pk in in_force:
        return "in_force"
    if version.effective_on > today:
        return "coming"
    last = version.not_to_be_used_after
    return "withdrawn" if last is not None and last < today else "superseded"


def product_rows(pk: int, today: date) -> tuple[Product, list[VersionRow]]:
    """One product with its labels; Http404 when there is none."""
    for product, rows in label_rows(today):
        if product.pk == pk:
            return product, rows
    raise Http404


def version_for(pk: int) -> LabelVersion:
    """One label; Http404 when there is none."""
    row: LabelVersion = _found(LabelVersion.objects.select_related("product"), pk)
    return row


def direction_row(pk: int) -> LabelUse:
    """One direction of any label; Http404 when there is none."""
    row: LabelUse = _found(LabelUse.objects.select_related("label_version__product"), pk)
    return row


def limit_row(pk: int) -> LabelLimit:
    """One limit of any label; Http404 when there is none."""
    row: LabelLimit = _found(LabelLimit.objects.select_related("label_version__product"), pk)
    return row


def file_for(label_version_id: int, kind: str) -> LabelFile:
    """The PDF of a label; Http404 when none is attached."""
    files = LabelFile.objects.filter(label_version=version_for(label_version_id), kind=kind)
    found = files.first()
    if found is None:
        raise Http404
    return found


def _found(rows: Any, pk: int) -> Any:
    row = rows.filter(pk=pk).first()
    if row is None:
        raise Http404
    return row


def label_page(pk: int, today: date) -> LabelPage:
    """Everything the sheet of one label shows."""
    version = version_for(pk)
    in_force = set(labels_in_force(today).values_list("pk", flat=True))
    row = _row(version, today, in_force)
    is_used = ApplicationRecord.objects.filter(label_version=version).exists()
    older = LabelVersion.objects.filter(
        product=version.product_id, effective_on__lt=version.effective_on
    ).first()
    seen = version.verifications.select_related("created_by")
    return LabelPage(
        row=row,
        parts=_parts(version),
        files=list(version.files.defer("content")),
        uses=list(version.uses.all()),
        limits=list(version.limits.all()),
        verified_by=[one.created_by.full_name if one.created_by else "the system" for one in seen],
        is_editable=not is_used and not row.is_verified,
        is_used=is_used,
        older_pk=older.pk if older else None,
    )


def _lines(version: LabelVersion) -> tuple[Line, ...]:
    return lines(as_entered(version), {pest.pk: pest.common_name for pest in pests()})


def _parts(version: LabelVersion) -> dict[str, list[Line]]:
    parts: dict[str, list[Line]] = {}
    for line in _lines(version):
        parts.setdefault(line.part, []).append(line)
    return parts


def compared(pk: int) -> tuple[LabelVersion, LabelVersion | None, tuple[Change, ...]]:
    """A label beside the one before it; without one before, every fact is added."""
    new = version_for(pk)
    older = LabelVersion.objects.filter(product=new.product_id, effective_on__lt=new.effective_on)
    old = older.first()
    return new, old, compare(_lines(old) if old else (), _lines(new))
