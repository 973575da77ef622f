"""A report of what was used as PDF: letter sheets on their side, the table's head on each."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor, black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import LETTER, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    LongTable,
    PageTemplate,
    Paragraph,
    Spacer,
    TableStyle,
)

from treatments.reports.notice import drawable
from treatments.reports.use_files import DEMO
from treatments.reports.use_paper import Block, Column, UsePaper, on_paper

WIDTH, HEIGHT = landscape(LETTER)
EDGE, FOOT = 36, 24
INNER = WIDTH - 2 * EDGE
GRAY, RULE = HexColor("#444444"), HexColor("#999999")
NUMBER_WIDTH, LONGEST = 66, 36


def _style(name: str, size: float, bold: bool = False, **more: Any) -> ParagraphStyle:
    font = "Helvetica-Bold" if bold else "Helvetica"
    return ParagraphStyle(name, fontName=font, fontSize=size, leading=size * 1.25, **more)


TITLE, HEADING = _style("title", 16, True), _style("heading", 10.5, True, keepWithNext=1)
PLAIN, FINE = _style("plain", 9), _style("fine", 7.5, textColor=GRAY)
CELL, NUMBER = _style("cell", 8), _style("number", 8, alignment=TA_RIGHT)
TOTAL, TOTAL_NUMBER = _style("total", 8, True), _style("total-n", 8, True, alignment=TA_RIGHT)
HEAD, HEAD_NUMBER = _style("head", 7.5, True), _style("head-n", 7.5, True, alignment=TA_RIGHT)


def draw_use_paper(paper: UsePaper) -> bytes:
    """The report as PDF, with its page numbers, its date and, in the demo, the mark of a demo."""
    out = BytesIO()
    document = BaseDocTemplate(
        out, pagesize=(WIDTH, HEIGHT), title=drawable(paper.title), author=drawable(paper.firm)
    )
    frame = Frame(EDGE, EDGE + FOOT, INNER, HEIGHT - 2 * EDGE - FOOT, 0, 0, 0, 0)
    template = PageTemplate("sheet", [frame], onPage=partial(_foot, paper))
    document.addPageTemplates(template)
    document.build(_story(paper))
    return out.getvalue()


def _text(words: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(drawable(words)), style)


def _story(paper: UsePaper) -> list[Flowable]:
    about = "   ".join(f"{name}: {value}." for name, value in paper.about)
    story: list[Flowable] = [
        _text(paper.title, TITLE),
        _text(f"{paper.firm}. As of {paper.as_of}.", PLAIN),
        _text(about, PLAIN),
    ]
    for block in paper.blocks:
        story += _table(block)
    story += _lines("What the log says", paper.reconciliation)
    story += _lines("Not in these totals, and why", paper.left_out)
    return [*story, Spacer(1, 8), _text(paper.asked_by, FINE)]


def _lines(heading: str, lines: Sequence[str]) -> list[Flowable]:
    if not lines:
        return []
    return [Spacer(1, 10), _text(heading, HEADING), *(_text(line, PLAIN) for line in lines)]


def _table(block: Block) -> list[Flowable]:
    head = [Spacer(1, 10), _text(block.title, HEADING), _text(block.note, FINE)]
    columns, rows, footer = on_paper(block)
    if not rows:
        return [*head, _text("Nothing was used in this period.", PLAIN)]
    table = LongTable(
        [_cells(columns, [one.title for one in columns], HEAD, HEAD_NUMBER)]
        + [_cells(columns, row, CELL, NUMBER) for row in rows]
        + ([_cells(columns, footer, TOTAL, TOTAL_NUMBER)] if footer else []),
        colWidths=_widths(columns, [[one.title for one in columns], *rows]),
        repeatRows=1,
    )
    table.setStyle(_rules(bool(footer)))
    return [*head, Spacer(1, 3), table]


def _cells(
    columns: Sequence[Column], row: Sequence[str], word: ParagraphStyle, number: ParagraphStyle
) -> list[Paragraph]:
    return [
        _text(value, number if column.is_number else word)
        for column, value in zip(columns, row, strict=True)
    ]


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[float]:
    """Numbers alike, the rest of the sheet by the longest text of each column."""
    texts = {
        place: min(max(len(row[place]) for row in rows), LONGEST) + 4
        for place, column in enumerate(columns)
        if not column.is_number
    }
    room = INNER - NUMBER_WIDTH * (len(columns) - len(texts))
    every = sum(texts.values())
    return [
        room * texts[place] / every if place in texts else NUMBER_WIDTH
        for place in range(len(columns))
    ]


def _rules(has_footer: bool) -> TableStyle:
    total = [("LINEABOVE", (0, -1), (-1, -1), 1, black)] if has_footer else []
    return TableStyle(
        [
            ("LINEBELOW", (0, 0), (-1, 0), 1, black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.4, RULE),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 6),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
            *total,
        ]
    )


def _foot(paper: UsePaper, canvas: Canvas, document: BaseDocTemplate) -> None:
    canvas.setFont("Helvetica", 7.5)
    canvas.setFillColor(GRAY)
    canvas.line(EDGE, EDGE + FOOT - 8, WIDTH - EDGE, EDGE + FOOT - 8)
    canvas.drawString(EDGE, EDGE + 4, drawable(f"{paper.title}. As of {paper.as_of}."))
    canvas.drawRightString(WIDTH - EDGE, EDGE + 4, f"Sheet {document.page}")
    if paper.is_demonstration:
        canvas.drawCentredString(WIDTH / 2, EDGE - 8, DEMO)
