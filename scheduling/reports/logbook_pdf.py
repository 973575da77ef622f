"""The logbook of a property on paper, to be kept at the property."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Rect, String
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer

from accounts.rules.day_words import clock, short_day
from scheduling.rules.site_logbook import Logbook
from sites.rules.trends import MonthCount
from treatments.reports.desk_pdf import HEADING, PLAIN, TITLE, draw_list
from treatments.reports.notice import drawable
from treatments.reports.paper import CODE, DEMO, EDGE, GRAY, INNER

BIG_CODE = ParagraphStyle("big-code", parent=CODE, fontSize=16, leading=22)
BAR, HIGH, FOOT = HexColor("#4a6a5a"), 60, 14


def draw_logbook(book: Logbook) -> bytes:
    """The whole logbook as PDF, the date on every sheet."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, title="Site logbook", author=drawable(book.firm),
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 14,
    )  # fmt: skip
    foot = _foot(book)
    document.build(list(_story(book)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _text(words: str, style: ParagraphStyle = PLAIN) -> Paragraph:
    return Paragraph(escape(drawable(words)).replace("\n", "<br/>"), style)


def _story(book: Logbook) -> Iterator[Flowable]:
    yield _text("Site logbook", TITLE)
    yield _text(f"{book.customer}, {book.address}.")
    called = f", telephone {book.phone}" if book.phone else ""
    yield _text(f"Kept by {book.firm}{called}. As of {_moment(book)}.")
    yield from _how_to_tell(book)
    yield from _plan(book)
    for one in book.lists:
        yield from draw_list(one)
        if one.key == "trend":
            yield Spacer(1, 6)
            yield _bars(book.trend)


def _moment(book: Logbook) -> str:
    return f"{short_day(book.as_of.date(), True)}, {clock(book.as_of)} at the branch"


def _how_to_tell(book: Logbook) -> Iterator[Flowable]:
    yield _text("Seen a pest?", HEADING)
    if not book.code:
        yield _text("Call the office. No code for telling it by telephone or tablet is in force.")
        return
    yield _text(f"Open {book.code_url} and type this code:")
    yield _text(book.code, BIG_CODE)


def _plan(book: Logbook) -> Iterator[Flowable]:
    yield _text("Integrated pest management plan", HEADING)
    if book.plan is None:
        yield _text("No plan is written yet.")
        return
    yield _text(f"{book.plan.title}.")
    for part in book.plan.text.split("\n"):
        yield _text(part)


def _bars(trend: Sequence[MonthCount]) -> Drawing:
    """Sightings by month as bars; the table above has the same numbers."""
    step, most = INNER / len(trend), max((one.sightings for one in trend), default=0) or 1
    drawing = Drawing(INNER, HIGH + FOOT + 12)
    for place, one in enumerate(trend):
        left, high = place * step, HIGH * one.sightings / most
        drawing.add(Rect(left + 4, FOOT, step - 8, high, fillColor=BAR, strokeColor=None))
        middle = left + step / 2
        drawing.add(_label(middle, FOOT + high + 3, str(one.sightings)))
        drawing.add(_label(middle, 2, one.words))
    return drawing


def _label(x: float, y: float, words: str) -> String:
    return String(x, y, words, fontName="Helvetica", fontSize=7, textAnchor="middle")


def _foot(book: Logbook) -> Any:
    words = drawable(f"{DEMO if book.demo else ''}As of {_moment(book)}")

    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawString(EDGE, EDGE - 8, words)
        canvas.drawRightString(LETTER[0] - EDGE, EDGE - 8, f"Sheet {document.page}")

    return foot
