"""A letter to a customer as PDF: appointment, reminder, how to prepare, offer, what is to do."""

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
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from accounts.rules.day_words import clock, short_day
from scheduling.rules.letters import Letter
from treatments.reports.desk_pdf import TITLE
from treatments.reports.notice import drawable
from treatments.reports.paper import DEMO, GRAY

EDGE = 64
INNER = LETTER[0] - 2 * EDGE
TEXT = ParagraphStyle("letter", fontName="Helvetica", fontSize=11, leading=15, spaceAfter=8)
BOLD = ParagraphStyle("letter-bold", parent=TEXT, fontName="Helvetica-Bold")
SMALL = ParagraphStyle("letter-small", parent=TEXT, fontSize=9, leading=12, textColor=GRAY)
HEAD = ParagraphStyle("letter-head", parent=BOLD, fontSize=12, spaceBefore=10, spaceAfter=4)
BOX = 11
EMERGENCY = (
    "Trouble breathing, a seizure, or somebody who cannot be woken: call 911. Swallowed, in the "
    "eyes, on the skin, or ill: Poison Help 1-800-222-1222. Questions about pesticides: National "
    "Pesticide Information Center 1-800-858-7378, weekday hours."
)
LABEL = (
    "What we use follows its label; the label, local rules and licensed practice govern. On the "
    "day you get a notice that says what was used and what to take care of."
)


class Box(Flowable):  # type: ignore[misc]  # the library has no types
    """A square to tick; ticked when it was said to be done."""

    def __init__(self, *, is_ticked: bool) -> None:
        super().__init__()
        self.width, self.height, self.is_ticked = BOX, BOX, is_ticked

    def draw(self) -> None:
        self.canv.rect(0, 0, BOX, BOX)
        if self.is_ticked:
            self.canv.line(2, BOX / 2, BOX / 2 - 1, 2)
            self.canv.line(BOX / 2 - 1, 2, BOX - 2, BOX - 2)


def draw_letter(letter: Letter) -> bytes:
    """The letter as PDF, its moment and the firm on every sheet."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, title=drawable(letter.title), author=drawable(letter.firm),
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 10,
    )  # fmt: skip
    foot = _foot(letter)
    document.build(list(_story(letter)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _text(words: str, style: ParagraphStyle = TEXT) -> Paragraph:
    return Paragraph(escape(drawable(words)).replace("\n", "<br/>"), style)


def _story(letter: Letter) -> Iterator[Flowable]:
    yield _text(letter.firm, BOLD)
    yield _text(f"{letter.to_name}\n{letter.address}")
    yield Spacer(1, 8)
    yield _text(letter.title, TITLE)
    yield _text(letter.opening)
    yield from _facts(letter)
    yield from _items(letter)
    yield from _tasks(letter)
    yield Spacer(1, 10)
    yield KeepTogether(
        [_text(letter.closing), _text(f"{LABEL} {EMERGENCY}", SMALL), _text(letter.firm)]
    )


def _facts(letter: Letter) -> Iterator[Flowable]:
    if letter.facts:
        rows = [[_text(label, BOLD), _text(words)] for label, words in letter.facts]
        yield _table(rows, 96)
        yield Spacer(1, 6)


def _items(letter: Letter) -> Iterator[Flowable]:
    if letter.items:
        yield _text("How to prepare", HEAD)
        yield _text("Tick what is done and leave this sheet where we find it.", SMALL)
        yield _table([[Box(is_ticked=bool(one.is_done)), _text(one.words)] for one in letter.items])


def _tasks(letter: Letter) -> Iterator[Flowable]:
    if letter.tasks:
        yield _text("What we asked you to do", HEAD)
        yield _table([[Box(is_ticked=False), _text(one)] for one in letter.tasks])


def _table(rows: list[list[Flowable]], first: int = 24) -> Table:
    style = TableStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
        ]
    )
    return Table(rows, colWidths=[first, INNER - first], style=style, hAlign="LEFT")


def _foot(letter: Letter) -> Any:
    said = f"{letter.firm}, {short_day(letter.as_of.date(), True)}, {clock(letter.as_of)}"
    words = drawable(said)

    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawString(EDGE, EDGE - 14, words)
        if letter.demo:
            canvas.drawString(EDGE, EDGE - 24, drawable(DEMO))
        canvas.drawRightString(LETTER[0] - EDGE, EDGE - 14, f"Sheet {document.page}")

    return foot
