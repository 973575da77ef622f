"""One record on paper: the state's box first, then judgements, versions and proof."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor, black
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from treatments.reports.notice import drawable
from treatments.reports.record_words import RecordSheet

EDGE = 40
INNER = LETTER[0] - 2 * EDGE
GRAY = HexColor("#444444")
PLAIN = ParagraphStyle("plain", fontName="Helvetica", fontSize=9, leading=11.5)
STRONG = ParagraphStyle("strong", fontName="Helvetica-Bold", fontSize=9, leading=11.5)
KEY = ParagraphStyle("key", fontName="Helvetica", fontSize=7.5, leading=11.5, textColor=GRAY)
TITLE = ParagraphStyle("title", fontName="Helvetica-Bold", fontSize=18, leading=24)
HEADING = ParagraphStyle("heading", fontName="Helvetica-Bold", fontSize=11, leading=16)
CODE = ParagraphStyle("code", fontName="Courier", fontSize=7.5, leading=10)
DEMO = "Demonstration: every person, firm, place, product and number here is invented. "
LINES = [
    ("LINEBELOW", (0, 0), (-1, -1), 0.4, black),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
]
Rows = Sequence[tuple[str, str]]


def draw_record(sheet: RecordSheet) -> bytes:
    """The record as PDF, on as many letter sheets as it needs."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, title=f"Record {sheet.number}", author=drawable(sheet.firm),
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 14,
    )  # fmt: skip
    foot = _foot(sheet)
    document.build(list(_story(sheet)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _text(words: str, style: ParagraphStyle = PLAIN) -> Paragraph:
    return Paragraph(escape(drawable(words)).replace("\n", "<br/>"), style)


def _story(sheet: RecordSheet) -> Iterator[Flowable]:
    yield _text("Pesticide use record", TITLE)
    yield _text(f"{sheet.firm}. Record {sheet.number}, {sheet.version}. As of {sheet.as_of}.")
    for mark in sheet.marks:
        yield _text(mark, STRONG)
    yield Spacer(1, 8)
    yield _table(sheet.box, sheet.strong)
    for heading, rows in sheet.parts:
        if rows:
            yield Spacer(1, 8)
            yield _text(heading, HEADING)
            yield _table(rows)
    yield Spacer(1, 8)
    yield _text(sheet.leaf, CODE)


def _table(rows: Rows, strong: frozenset[str] = frozenset()) -> Table:
    cells = [
        [_text(name, KEY), _text(value, STRONG if name in strong else PLAIN)]
        for name, value in rows
    ]
    table = Table(cells, colWidths=[150, INNER - 150])
    table.setStyle(TableStyle(LINES))
    return table


def _foot(sheet: RecordSheet) -> Any:
    words = drawable(f"{DEMO if sheet.demo else ''}Record {sheet.number}, {sheet.version}")

    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawString(EDGE, EDGE - 8, words)
        canvas.drawRightString(LETTER[0] - EDGE, EDGE - 8, f"Sheet {document.page}")

    return foot
