"""Attaching the printed label and the safety data sheet."""

from __future__ import annotations

from datetime import date
from hashlib import sha256
from pathlib import PurePath
from typing import TYPE_CHECKING, Protocol

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import LabelFile
from treatments.rules.products import FileKind
from treatments.services.label_rows import editable_version

if TYPE_CHECKING:
    from accounts.models import Person

MOST_BYTES = 20 * 1024 * 1024
PDF_BEGINS = b"%PDF-"


class Uploaded(Protocol):
    """A file as it arrives: `size` in bytes is known before it is read."""

    name: str | None
    size: int | None

    def read(self) -> bytes: ...


@transaction.atomic
def attach_file(
    *, label_version_id: int, kind: str, upload: Uploaded, by: Person | None, today: date
) -> LabelFile:
    """Keep a PDF with a label, instead of the one before, until it is verified or used.

    Refused: above 20 MB (before a byte is read), what is not a PDF, an unknown kind.
    """
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id, today)
    if kind not in list(FileKind):
        raise Refused("file", "A file is the label or the safety data sheet.", field="kind")
    content = _pdf(upload)
    LabelFile.objects.filter(label_version=version, kind=kind).delete()
    kept = LabelFile.objects.create(
        label_version=version,
        kind=kind,
        name=PurePath(upload.name or "label.pdf").name[-120:],
        content=content,
        size=len(content),
        sha256=sha256(content).hexdigest(),
        created_by=by,
    )
    note_event(by=by, act="attach_file", thing=version, kind=kind, sha256=kept.sha256)
    return kept


def _pdf(upload: Uploaded) -> bytes:
    if (upload.size or 0) > MOST_BYTES:
        raise Refused("file", "The file is above 20 MB. Save it smaller first.", field="file")
    content = upload.read()
    if not content.startswith(PDF_BEGINS) or len(content) > MOST_BYTES:
        sentence = "The file is not a PDF. Print or scan the label as a PDF first."
        raise Refused("file", sentence, field="file")
    return content
