"""The report of an inspection on paper: what was looked at, found, advised, and is to be done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    Image,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from scheduling.reports.inspection_words import (
    InspectionSheet,
    SheetFinding,
    SheetPhoto,
    SheetTask,
)
from sites.reports.plan_drawing import Plan, plan_words
from sites.reports.plan_pdf import plan_paper
from treatments.reports.notice import drawable
from treatments.reports.paper import DEMO, EDGE, GRAY, INNER

PLAIN = ParagraphStyle("plain", fontName="Helvetica", fontSize=9.5, leading=12.5)
STRONG = ParagraphStyle("strong", parent=PLAIN, fontName="Helvetica-Bold")
FINE = ParagraphStyle("fine", parent=PLAIN, fontSize=8, leading=10.5, textColor=GRAY)
TITLE = ParagraphStyle("title", fontName="Helvetica-Bold", fontSize=18, leading=24)
HEADING = ParagraphStyle(
    "heading", fontName="Helvetica-Bold", fontSize=11.5, leading=18, keepWithNext=1
)
PHOTO_WIDTH, PHOTO_HEIGHT, PHOTOS_ABREAST = 168.0, 132.0, 3
RULED = TableStyle(
    [
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, black),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 2.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
    ]
)


def draw_inspection(sheet: InspectionSheet, *, plan: Plan | None = None) -> bytes:
    """The report as PDF, on as many letter sheets as it needs; the same facts, the same bytes."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, title=f"Inspection {sheet.number}", author=drawable(sheet.firm),
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 14, invariant=1,
    )  # fmt: skip
    foot = _foot(sheet)
    document.build(list(_story(sheet, plan)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _text(words: str, style: ParagraphStyle = PLAIN) -> Paragraph:
    return Paragraph(escape(drawable(words)).replace("\n", "<br/>"), style)


def _story(sheet: InspectionSheet, plan: Plan | None) -> Iterator[Flowable]:
    yield _text("Inspection report", TITLE)
    yield _text(f"{sheet.firm}. {sheet.firm_lines}", FINE)
    yield Spacer(1, 6)
    yield _text(f"{sheet.customer}, {sheet.address}", STRONG)
    yield _text(f"Inspected {sheet.inspected} by {sheet.inspector}.")
    yield _text(sheet.not_wood_destroying, STRONG)
    yield Spacer(1, 6)
    yield _text(sheet.summary)
    if plan is not None:
        yield from _plan(plan)
    yield from _findings(sheet.findings)
    yield from _tasks(sheet.tasks)
    yield from _list("Since the inspection before", sheet.changes)
    yield from _list("Looked at, nothing found", sheet.clear)
    yield from _list("Not looked at", sheet.not_looked_at)


def _plan(plan: Plan) -> Iterator[Flowable]:
    yield from _heading("Plan")
    yield plan_paper(plan, width=INNER)
    yield _text(plan_words(plan) + ".", FINE)


def _heading(words: str) -> list[Flowable]:
    return [Spacer(1, 8), _text(words, HEADING)]


def _list(heading: str, rows: Sequence[str]) -> Iterator[Flowable]:
    if rows:
        yield from _heading(heading)
        yield _text("; ".join(rows) + ".")


def _findings(findings: Sequence[SheetFinding]) -> Iterator[Flowable]:
    if not findings:
        return
    yield from _heading("What was found")
    for one in findings:
        told = [
            _text(f"{one.number}. {one.words} - {one.severity}", STRONG),
            *(_text(words) for words in one.lines),
        ]
        # a photo may go over to the next sheet, so that words fill the one they begin on
        yield KeepTogether(told)
        yield from _photos(one.photos)
        yield Spacer(1, 5)


def _photos(photos: Sequence[SheetPhoto]) -> list[Flowable]:
    shown = [_photo(one) for one in photos]
    rows = [shown[at : at + PHOTOS_ABREAST] for at in range(0, len(shown), PHOTOS_ABREAST)]
    return [Table([row], hAlign="LEFT") for row in rows]


def _photo(one: SheetPhoto) -> Image:
    scale = min(PHOTO_WIDTH / one.width, PHOTO_HEIGHT / one.height)
    return Image(BytesIO(one.content), width=one.width * scale, height=one.height * scale)


def _tasks(tasks: Sequence[SheetTask]) -> Iterator[Flowable]:
    if not tasks:
        return
    yield from _heading("What is to be done")
    head = [_text(words, FINE) for words in ("What", "Who", "By", "Price", "State")]
    rows = [
        [
            [_text(one.words), *([_text(one.stays_open, STRONG)] if one.stays_open else [])],
            *(_text(words) for words in (one.does, one.due, one.price, one.state)),
        ]
        for one in tasks
    ]
    widths = [INNER - 285, 75, 75, 65, 70]
    table = Table([head, *rows], colWidths=widths, repeatRows=1)
    table.setStyle(RULED)
    yield table


def _foot(sheet: InspectionSheet) -> Any:
    said = f"Inspection {sheet.number}, report of {sheet.made}. {sheet.not_wood_destroying}"
    words = drawable(said)

    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7)
        canvas.drawString(EDGE, EDGE - 4, words)
        if sheet.demo:
            canvas.drawString(EDGE, EDGE - 14, DEMO)
        canvas.drawRightString(LETTER[0] - EDGE, EDGE - 14, f"Sheet {document.page}")

    return foot
