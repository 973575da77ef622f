"""Rounds, findings and tasks for tests, made straight through the tables."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import date
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import models
from django.utils import timezone
from PIL import Image

from sites.models import (
    CheckpointAnswer,
    ExclusionTask,
    Finding,
    FindingClosing,
    FindingZone,
    Inspection,
    InspectionEnding,
    InspectionReport,
    Photo,
    Property,
    TaskEnding,
)
from sites.rules.gaps import parse_gap
from tests.factories import make_branch, make_customer, make_property, make_zone


def picture(size: tuple[int, int] = (40, 20), kind: str = "JPEG", **more: Any) -> bytes:
    """A small photo of one color."""
    out = BytesIO()
    Image.new("RGB", size, (200, 30, 30)).save(out, kind, **more)
    return out.getvalue()


def upload(content: bytes | None = None, name: str = "IMG_1.jpg") -> SimpleUploadedFile:
    """A file as a browser sends it."""
    return SimpleUploadedFile(name, picture() if content is None else content, "image/jpeg")


def make_round(place: Property, **fields: Any) -> Inspection:
    """An inspection that is begun."""
    return Inspection.objects.create(
        **{"client_ref": uuid.uuid4(), "property": place, "begun_at": timezone.now()} | fields
    )


def make_finding(inspection: Inspection, gap: str = "", **fields: Any) -> Finding:
    """A finding at a door; `gap` is a slit in mm."""
    measured = parse_gap(gap, "mm", fields.pop("shape", "slit")) if gap else None
    return Finding.objects.create(
        **{
            "client_ref": uuid.uuid4(),
            "client_digest": "0" * 64,
            "inspection": inspection,
            "checkpoint": "doors",
            "kind": "entry" if gap else "evidence",
            "severity": "soon",
            "gap_shape": measured.shape if measured else "",
            "gap_text": measured.text if measured else "",
            "gap_nm": measured.nm if measured else None,
        }
        | fields
    )


def make_task(finding: Finding, **fields: Any) -> ExclusionTask:
    """A task of the firm, due far away."""
    return ExclusionTask.objects.create(
        **{
            "client_ref": uuid.uuid4(),
            "client_digest": "0" * 64,
            "finding": finding,
            "measure": "sweep",
            "material": "sweep",
            "does": "firm",
            "due_on": date(2099, 1, 1),
        }
        | fields
    )


def make_ending(task: ExclusionTask, **fields: Any) -> TaskEnding:
    """A task that was done."""
    return TaskEnding.objects.create(
        **{
            "client_ref": uuid.uuid4(),
            "task": task,
            "kind": "done",
            "ended_on": date(2026, 11, 30),
        }
        | fields
    )


def make_photo(finding: Finding, **fields: Any) -> Photo:
    """A photo of a finding."""
    content = fields.pop("content", picture())
    return Photo.objects.create(
        **{
            "property": finding.inspection.property,
            "finding": finding,
            "name": "IMG_1.jpg",
            "content": content,
            "content_type": "image/jpeg",
            "width": 40,
            "height": 20,
            "size": len(content),
            "sha256": "0" * 64,
            "original_sha256": "0" * 64,
        }
        | fields
    )


def make_report(inspection: Inspection) -> InspectionReport:
    """A kept report."""
    return InspectionReport.objects.create(
        inspection=inspection, content=b"%PDF-1.4", size=8, sha256="0" * 64
    )


def a_round() -> Inspection:
    """A round at an invented property."""
    return make_round(make_property(make_customer(make_branch())))


def _zone_of_finding() -> FindingZone:
    finding = make_finding(a_round())
    return FindingZone.objects.create(finding=finding, zone=make_zone(finding.inspection.property))


# one row of every table of this noun that only grows
GUARDED: dict[str, Callable[[], models.Model]] = {
    "sites_inspection": a_round,
    "sites_checkpointanswer": lambda: CheckpointAnswer.objects.create(
        inspection=a_round(), checkpoint="doors"
    ),
    "sites_inspectionending": lambda: InspectionEnding.objects.create(
        inspection=a_round(), ended_at=timezone.now(), is_nothing_found=True
    ),
    "sites_finding": lambda: make_finding(a_round()),
    "sites_findingclosing": lambda: FindingClosing.objects.create(
        finding=make_finding(a_round()), kind="gone", closed_at=timezone.now()
    ),
    "sites_findingzone": _zone_of_finding,
    "sites_inspectionreport": lambda: make_report(a_round()),
    "sites_exclusiontask": lambda: make_task(make_finding(a_round())),
    "sites_taskending": lambda: make_ending(make_task(make_finding(a_round()))),
    "sites_photo": lambda: make_photo(make_finding(a_round())),
}
