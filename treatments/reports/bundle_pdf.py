"""The records of a bundle on paper: what was asked for, an index with sheets, then each record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from treatments.reports.bundle_table import COLUMNS, cells
from treatments.reports.notice import drawable
from treatments.reports.paper import CODE, DEMO, EDGE, GRAY, INNER
from treatments.rules.bundles import Bundle, BundleRecord, folded

PLAIN = ParagraphStyle("plain", fontName="Helvetica", fontSize=9, leading=11.5)
KEY = ParagraphStyle("key", fontName="Helvetica", fontSize=7.5, leading=11.5, textColor=GRAY)
TITLE = ParagraphStyle("title", fontName="Helvetica-Bold", fontSize=18, leading=24)
HEADING = ParagraphStyle("heading", fontName="Helvetica-Bold", fontSize=11, leading=15)
LINES = [
    ("LINEBELOW", (0, 0), (-1, -1), 0.4, black),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
]


class Numbered(SimpleDocTemplate):  # type: ignore[misc]
    """A document that remembers on which sheet each record began."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.sheets: dict[int, int] = {}

    def afterFlowable(self, flowable: Flowable) -> None:
        record_id = getattr(flowable, "record_id", None)
        if record_id is not None:
            self.sheets.setdefault(record_id, self.page)


def draw_bundle(bundle: Bundle) -> bytes:
    """The records as PDF; laid out twice, since the index stands before what it counts."""
    _, sheets = _drawn(bundle, {})
    return _drawn(bundle, sheets)[0]


def _drawn(bundle: Bundle, sheets: Mapping[int, int]) -> tuple[bytes, Mapping[int, int]]:
    out = BytesIO()
    document = Numbered(
        out, pagesize=LETTER, title="Inspection bundle", author=drawable(bundle.firm),
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 14,
    )  # fmt: skip
    foot = _foot(bundle)
    document.build(list(_story(bundle, sheets)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue(), document.sheets


def _text(words: str, style: ParagraphStyle = PLAIN) -> Paragraph:
    return Paragraph(escape(drawable(words)).replace("\n", "<br/>"), style)


def _story(bundle: Bundle, sheets: Mapping[int, int]) -> Iterator[Flowable]:
    yield _text("Pesticide use records", TITLE)
    yield _text(f"{bundle.firm}. {bundle.scope_words}")
    yield _text(f"As of {bundle.as_of.astimezone(UTC):%Y-%m-%d %H:%M} UTC.")
    yield Spacer(1, 6)
    for one in bundle.logs:
        yield _text(f"Log of {one.branch_name}: {one.head.size} leaves", HEADING)
        yield _text(f"root {one.head.root}", CODE)
        yield _text(f"key  {one.head.key}", CODE)
    for sentence in bundle.differences:
        yield _text(f"Difference found when this was made: {sentence}")
    yield Spacer(1, 8)
    yield _text("Index", HEADING)
    records = folded(bundle.records)
    yield _index(records, sheets)
    if records:
        yield PageBreak()
    for record in records:
        yield from _record(record)


def _index(records: Sequence[BundleRecord], sheets: Mapping[int, int]) -> Flowable:
    if not records:
        return _text("No record fits.")
    head = [
        _text(word, KEY) for word in ("Record", "Entry", "Counts", "Applied on", "Product", "Sheet")
    ]
    rows = [head, *(_index_row(record, sheets) for record in records)]
    table = Table(rows, colWidths=[50, 65, 95, 75, INNER - 330, 45], repeatRows=1)
    table.setStyle(TableStyle(LINES))
    return table


def _index_row(record: BundleRecord, sheets: Mapping[int, int]) -> list[Flowable]:
    said = record.said.get("record", {})
    sheet = str(sheets.get(record.record_id, "000"))
    product = said.get("product_name") or "no product"
    words = (
        record.record_id,
        said.get("entry", ""),
        record.standing,
        said.get("applied_on", ""),
        product,
        sheet,
    )
    return [_text(str(word)) for word in words]


def _record(record: BundleRecord) -> Iterator[Flowable]:
    heading = _text(f"Record {record.record_id}, leaf {record.seq}: {record.standing}", HEADING)
    heading.record_id = record.record_id
    named = zip((name for name, _ in COLUMNS[2:]), cells(record)[2:], strict=True)
    rows = [(name, value) for name, value in named if value]
    rows += [*_list(record.said, "pests"), *_areas(record.said), *_judged(record.said)]
    facts = Table(
        [[_text(name, KEY), _text(value)] for name, value in rows], colWidths=[120, INNER - 120]
    )
    facts.setStyle(TableStyle(LINES))
    yield KeepTogether([heading, Spacer(1, 2)])
    yield facts
    yield Spacer(1, 14)


def _list(said: Mapping[str, Any], name: str) -> list[tuple[str, str]]:
    found = said.get("record", {}).get(name) or []
    return [("Pests", ", ".join(map(str, found)))] if found else []


def _areas(said: Mapping[str, Any]) -> list[tuple[str, str]]:
    return [
        ("Zone", f"{one.get('zone_name')} ({one.get('place')}), {one.get('size')} "
         f"{one.get('size_unit')}")
        for one in said.get("areas", [])
    ]  # fmt: skip


def _judged(said: Mapping[str, Any]) -> list[tuple[str, str]]:
    return [
        (f"Judged, {one.get('severity')}", f"{one.get('sentence')} {one.get('clause')}")
        for one in said.get("judgements", [])
    ]


def _foot(bundle: Bundle) -> Any:
    words = drawable(f"{DEMO if bundle.demo else ''}As of {bundle.as_of.astimezone(UTC):%Y-%m-%d}")

    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawString(EDGE, EDGE - 8, words)
        canvas.drawRightString(LETTER[0] - EDGE, EDGE - 8, f"Sheet {document.page}")

    return foot
