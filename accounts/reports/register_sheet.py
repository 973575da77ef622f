"""Licenses, training and firm papers in force on a day, as PDF: what an inspector asks for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor, black
from reportlab.lib.pagesizes import LETTER, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from accounts.reports.register_words import HEADER, InForce, RegisterSheet
from accounts.rules.day_words import clock, short_day

WIDTHS = (60, 82, 82, 98, 74, 32, 82, 62, 66, 82)
EDGE = 30
DEMO = "Demonstration: firm, people and numbers are invented."
GRAY = HexColor("#444444")


def draw_register(sheet: RegisterSheet) -> bytes:
    """The sheet as PDF on landscape letter pages, numbered."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=landscape(LETTER), title=f"Register on {sheet.on}",
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 14,
    )  # fmt: skip
    document.build(_story(sheet), onFirstPage=_foot, onLaterPages=_foot)
    return out.getvalue()


def _style(name: str, size: float, **more: Any) -> ParagraphStyle:
    return ParagraphStyle(name, **{"fontName": "Helvetica", "leading": size * 1.25} | more,
                          fontSize=size)  # fmt: skip


TITLE = _style("title", 16, fontName="Helvetica-Bold")
PLAIN = _style("plain", 9)
CELL = _style("cell", 7.5)
KEY = _style("key", 7.5, fontName="Helvetica-Bold")


def _foot(canvas: Canvas, document: Any) -> None:
    canvas.setFont("Helvetica", 7.5)
    canvas.setFillColor(GRAY)
    canvas.drawRightString(landscape(LETTER)[0] - EDGE, EDGE - 8, f"Page {document.page}")


def _story(sheet: RegisterSheet) -> list[Flowable]:
    drawn = f"{short_day(sheet.drawn_at.date(), True)}, {clock(sheet.drawn_at)}"
    story: list[Flowable] = [
        _text(f"Register: in force on {short_day(sheet.on, True)}", TITLE),
        Spacer(1, 4),
        _text(f"{sheet.branches}. As entered by {drawn}. For {sheet.drawn_for}.", PLAIN),
    ]
    if sheet.is_demonstration:
        story.append(_text(DEMO, PLAIN))
    story.append(Spacer(1, 8))
    story.append(_table(sheet.rows) if sheet.rows else _text("Nothing was in force.", PLAIN))
    return story


def _table(rows: Sequence[InForce]) -> Table:
    cells = [[_text(word, KEY) for word in HEADER]]
    cells += [[_text(_shown(cell), CELL) for cell in row.cells] for row in rows]
    lines = TableStyle(
        [
            ("LINEBELOW", (0, 0), (-1, 0), 1, black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.25, GRAY),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ]
    )
    return Table(cells, colWidths=WIDTHS, repeatRows=1, style=lines)


def _shown(cell: object) -> str:
    return short_day(cell, True) if isinstance(cell, date) else str(cell)


def _text(words: str, style: ParagraphStyle) -> Paragraph:
    # the fonts of every PDF reader have Latin-1 alone
    return Paragraph(escape(words.encode("latin-1", "replace").decode("latin-1")), style)
