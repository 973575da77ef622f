"""An agreement on paper: what is covered, when we come, price, promise, how it ends."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    HRFlowable,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from scheduling.reports.agreement_words import AgreementSheet
from treatments.reports.notice import drawable
from treatments.reports.paper import DEMO, EDGE, GRAY, INNER

PLAIN = ParagraphStyle("plain", fontName="Helvetica", fontSize=10, leading=14)
STRONG = ParagraphStyle("strong", parent=PLAIN, fontName="Helvetica-Bold")
FINE = ParagraphStyle("fine", parent=PLAIN, fontSize=8.5, leading=11, textColor=GRAY)
TITLE = ParagraphStyle("title", fontName="Helvetica-Bold", fontSize=18, leading=25)
RULED = TableStyle(
    [
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, GRAY),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
    ]
)


def draw_agreement(sheet: AgreementSheet) -> bytes:
    """The paper as PDF on letter sheets; the same words, the same bytes."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, title=f"Agreement {sheet.number}", author=drawable(sheet.firm),
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 14, invariant=1,
    )  # fmt: skip
    foot = _foot(sheet)
    document.build(list(_story(sheet)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _text(words: str, style: ParagraphStyle = PLAIN) -> Paragraph:
    return Paragraph(escape(drawable(words)).replace("\n", "<br/>"), style)


def _story(sheet: AgreementSheet) -> Iterator[Flowable]:
    yield _text("Service agreement", TITLE)
    yield _text(f"{sheet.firm}. {sheet.firm_lines}", FINE)
    yield Spacer(1, 8)
    yield _text(f"{sheet.customer}, {sheet.address}", STRONG)
    yield _text(f"Agreement {sheet.number}, offered {sheet.offered}: {sheet.program}.")
    yield Spacer(1, 10)
    rows = [[_text(name, STRONG), _text(words)] for name, words in sheet.lines]
    table = Table(rows, colWidths=[125, INNER - 125])
    table.setStyle(RULED)
    yield table
    yield Spacer(1, 12)
    for words in sheet.cautions:
        yield _text(words)
        yield Spacer(1, 4)
    yield KeepTogether(list(_sign_here()))


def _sign_here() -> Iterator[Flowable]:
    yield Spacer(1, 34)
    yield Table(
        [
            [_rule(), "", _rule()],
            [_text("Customer, name and signature", FINE), "", _text("Day", FINE)],
        ],
        colWidths=[INNER - 180, 20, 160],
        style=TableStyle([("LEFTPADDING", (0, 0), (-1, -1), 0)]),
    )


def _rule() -> HRFlowable:
    return HRFlowable(width="100%", thickness=0.8, color=GRAY)


def _foot(sheet: AgreementSheet) -> Any:
    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7)
        canvas.drawString(EDGE, EDGE - 4, f"Agreement {sheet.number}, offered {sheet.offered}.")
        if sheet.demo:
            canvas.drawString(EDGE, EDGE - 14, DEMO)
        canvas.drawRightString(LETTER[0] - EDGE, EDGE - 14, f"Sheet {document.page}")

    return foot
