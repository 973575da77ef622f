"""A house of the invented firm that was inspected twice: what was found, closed up, reported."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

from PIL import Image, ImageDraw

from scheduling.models import Visit
from scheduling.selectors.reach import reachable
from scheduling.services.demo.days import NEVER_TYPED_TWICE, at
from scheduling.services.demo.firm import Firm, Sheet
from scheduling.services.inspecting import inspect_at_stop, inspect_property
from scheduling.services.inspection_reports import report_inspection, send_report
from sites.rules.checkpoints import CHECKPOINTS
from sites.rules.exclusion import NewTask
from sites.rules.findings import ClosingKind, NewFinding
from sites.services.exclusion import add_task
from sites.services.inspections import (
    add_finding,
    answer_checkpoints,
    close_finding,
    end_inspection,
)

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Finding, Inspection

BACK = timedelta(days=70)
BEFORE: tuple[dict[str, Any], ...] = (
    {"checkpoint": "eaves", "kind": "entry", "severity": "note", "gap": "3", "where": "south side"},
    {"checkpoint": "gutters", "kind": "condition", "severity": "soon",
     "condition": "clogged_gutter"},
)  # fmt: skip
NOW: tuple[dict[str, Any], ...] = (
    {"checkpoint": "eaves", "kind": "entry", "severity": "soon", "gap": "6",
     "where": "south side, 6 ft",
     "note": "Fascia has slipped at the corner."},
    {"checkpoint": "weep_holes", "kind": "entry", "severity": "soon", "gap": "3/8",
     "gap_unit": "in", "opening": "weep_hole", "where": "porch front"},
    {"checkpoint": "vegetation", "kind": "condition", "severity": "soon",
     "condition": "plants_at_wall", "where": "east side"},
)  # fmt: skip
WEEP, PLANTS, GUTTER = 1, 2, 1


def inspect_a_house(*, firm: Firm, stop: Visit, today: date) -> tuple[str, ...]:
    """Inspect the property of a stop ten weeks ago and again at the stop, with tasks and report."""
    before = _before(firm.manager, stop, today, at(today - BACK, time(9), firm))
    by, now = stop.technician, at(today, time(7), firm)
    again = inspect_at_stop(visit_id=stop.pk, by=by, now=now)
    found = _found(again, NOW, by, now, today)
    _tasks(found, by, today)
    close_finding(
        within=reachable(by, today),
        finding_id=before[GUTTER].pk,
        kind=ClosingKind.GONE,
        words=f"Looked at again in inspection {again.pk}.",
        by=by,
        now=now,
    )
    _end(again, by, now, today, "Close the fascia before the fall flight.")
    report = report_inspection(inspection_id=again.pk, by=by, today=today, demo=True)
    sent = send_report(report_id=report.pk, by=by, now=now, today=today)
    return (
        f"{again}: {len(found)} findings, 2 tasks.",
        f"Report kept, SHA-256 {report.sha256}; queued for {sent} of the customer.",
    )


def _before(by: Person, stop: Visit, today: date, now: datetime) -> list[Finding]:
    first = inspect_property(
        property_id=stop.property_id, client_ref=_ref("first"), by=by, now=now, today=today
    )
    found = _found(first, BEFORE, by, now, today)
    _end(first, by, now, today, "")
    return found


def _found(
    inspection: Inspection, rows: tuple[dict[str, Any], ...], by: Person, now: datetime, today: date
) -> list[Finding]:
    return [
        add_finding(
            within=reachable(by, today),
            new=NewFinding(
                client_ref=_ref(f"{inspection.client_ref} {number}"),
                inspection_id=inspection.pk,
                **row,
            ),
            photos=_photos(row["checkpoint"]),
            by=by,
            now=now,
        )
        for number, row in enumerate(rows)
    ]


def _tasks(found: list[Finding], by: Person, today: date) -> None:
    due, within = today + timedelta(days=14), reachable(by, today)
    mesh = NewTask(_ref("mesh"), found[WEEP].pk, "mesh", "copper_mesh", "firm", due, Decimal(60))
    plants = NewTask(_ref("plants"), found[PLANTS].pk, "vegetation", "none", "customer", due)
    for new in (mesh, plants):
        add_task(within=within, new=new, by=by, today=today)


def _end(inspection: Inspection, by: Person, now: datetime, today: date, words: str) -> None:
    within = reachable(by, today)
    clear = [one.code for one in CHECKPOINTS if one.number <= 20]
    answer_checkpoints(within=within, inspection_id=inspection.pk, checkpoints=clear, by=by)
    end_inspection(within=within, inspection_id=inspection.pk, words=words, by=by, now=now)


def _photos(checkpoint: str) -> list[Sheet]:
    drawn = _picture()
    return [Sheet("demo.jpg", len(drawn), drawn)] if checkpoint == "eaves" else []


def _picture() -> bytes:
    """A drawn gap under an eave, since the demo shows no real house."""
    drawn = Image.new("RGB", (640, 420), (214, 206, 190))
    pen = ImageDraw.Draw(drawn)
    pen.rectangle((0, 0, 640, 130), fill=(120, 96, 72))
    pen.polygon([(0, 130), (640, 130), (640, 168), (0, 142)], fill=(24, 22, 20))
    out = BytesIO()
    drawn.save(out, "JPEG")
    return out.getvalue()


def _ref(name: str) -> UUID:
    return uuid5(NEVER_TYPED_TWICE, f"inspection {name}")
