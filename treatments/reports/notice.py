"""The notice a customer gets after a treatment: one letter sheet, as PDF.

Numbers to call: 911; Poison Help and NPIC as the National Pesticide Information Center prints
them (read). Our own alerts to customers are called "Take care";
Danger, Warning and Caution are a product's signal words and stand only beside the product.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor, black
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)

from accounts.rules.day_words import short_day
from treatments.reports.notice_words import Applicator, Firm, Notice, NoticeRecord, NotTreated, ToDo

WIDTH, HEIGHT = LETTER
EDGE, INSET, HEAD, FOOT = 36, 12, 46, 62
INNER = WIDTH - 2 * EDGE - 2 * INSET
GRAY = HexColor("#444444")
DEMO = (
    "Demonstration. Every person, firm, place, product and number here is invented, "
    "except 911, Poison Help and NPIC."
)
LAW = "The label is the law: the product was chosen and applied by its label and local rules."
CALLS = (
    ("911", "Trouble breathing, a seizure, cannot be woken"),
    ("1-800-222-1222", "Poison Help: swallowed, in eyes, on skin, ill"),
    ("1-800-858-7378", "Questions: NPIC, weekday hours"),
)


def _style(name: str, size: float, bold: bool = False, **more: Any) -> ParagraphStyle:
    font = "Helvetica-Bold" if bold else "Helvetica"
    return ParagraphStyle(name, fontName=font, fontSize=size, leading=size * 1.25, **more)


TITLE = _style("title", 19, bold=True)
PLAIN = _style("plain", 10)
BIG = _style("big", 12.5, bold=True)
HEADING = _style("heading", 7.5, bold=True, textTransform="uppercase")
KEY = _style("key", 7, textTransform="uppercase", textColor=GRAY)
FINE = _style("fine", 7.5, textColor=GRAY)
NUMBER = _style("number", 11.5, bold=True)


def draw_notice(notice: Notice) -> bytes:
    """The notice as PDF; one record fits one sheet, several go on to the next."""
    out = BytesIO()
    document = BaseDocTemplate(
        out, pagesize=LETTER, title="Notice after treatment", author=drawable(notice.firm.name)
    )
    frame = Frame(
        EDGE, EDGE + FOOT, WIDTH - 2 * EDGE, HEIGHT - 2 * EDGE - HEAD - FOOT,
        leftPadding=INSET, rightPadding=INSET, topPadding=INSET, bottomPadding=4,
    )  # fmt: skip
    document.addPageTemplates(PageTemplate("sheet", [frame]))
    document.build(_story(notice), canvasmaker=_sheets(notice))
    return out.getvalue()


def drawable(text: str) -> str:
    """Text in letters the standard PDF fonts have: accents they lack are left off, then `?`."""
    try:
        text.encode("cp1252")
        return text
    except UnicodeEncodeError:
        plain = unicodedata.normalize("NFKD", text)
        kept = "".join(sign for sign in plain if not unicodedata.combining(sign))
        return kept.encode("cp1252", "replace").decode("cp1252")


def _text(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(drawable(text)).replace("\n", "<br/>"), style)


def _story(notice: Notice) -> list[Flowable]:
    story: list[Flowable] = [
        _text("Notice after treatment", TITLE),
        Spacer(1, 4),
        *_corrected(notice),
        _text(f"{notice.customer}, {notice.address}", _style("to", 11)),
        Spacer(1, 10),
        *_take_care(notice),
    ]
    for number, record in enumerate(notice.records, start=1):
        story += _record(record, _of(number, len(notice.records)))
    story += [*_left_out(notice.not_treated), *_to_do(notice.to_do)]
    story += _precautions(notice.records)
    return [*story, Spacer(1, 8), _text(LAW, FINE)]


def _corrected(notice: Notice) -> list[Flowable]:
    if notice.corrected_on is None:
        return []
    words = (
        f"Corrected copy of {short_day(notice.corrected_on, True)}: it replaces every earlier one."
    )
    return [_text(words, _style("corrected", 11, bold=True)), Spacer(1, 4)]


def _of(number: int, count: int) -> str:
    return "What was done" if count == 1 else f"What was done, {number} of {count}"


def _take_care(notice: Notice) -> list[Flowable]:
    sentences = dict.fromkeys(one.reentry for one in notice.records if one.reentry)
    if not sentences:
        return []
    rows = [_text("Take care", HEADING), *(_text(one, BIG) for one in sentences)]
    box = Table([["", rows]], colWidths=[12, INNER - 12])
    box.setStyle(
        TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 1.2, black),
                ("BACKGROUND", (0, 0), (0, 0), black),
                ("TOPPADDING", (0, 0), (-1, -1), 5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
            ]
        )
    )
    return [box]


def _heading(words: str) -> list[Flowable]:
    rule = Table([[_text(words, HEADING)]], colWidths=[INNER])
    rule.setStyle(
        TableStyle(
            [("LINEBELOW", (0, 0), (-1, -1), 1.2, black), ("LEFTPADDING", (0, 0), (0, 0), 0)]
        )
    )
    return [Spacer(1, 9), CondPageBreak(80), rule]


def _record(record: NoticeRecord, heading: str) -> list[Flowable]:
    facts = [
        ("Use site", _joined(record.zones, record.places)),
        ("When", record.times),
        ("Against", record.pests),
        ("How", record.method),
        ("Done", record.done),
        ("Product", record.product),
        ("Registration", record.registration_number),
        ("Active", record.ingredients),
        ("Signal word", record.signal_word),
        ("Used", _used(record)),
        ("In loads", "; ".join(record.loads)),
        ("By", _by(record.applicator)),
    ]
    told = _facts([(key, value) for key, value in facts if value])
    # what was done with one product stays on one sheet
    return [KeepTogether([*_heading(heading), told])]


def _joined(zones: str, places: str) -> str:
    return f"{zones} ({places.lower()})" if places and places.lower() != zones.lower() else zones


def _used(record: NoticeRecord) -> str:
    if not record.amount:
        return f"{record.finished} of finished spray on {record.area}" if record.finished else ""
    parts = [f"{record.amount} of product"]
    if record.finished:
        parts.append(f"in {record.finished} of finished spray")
    if record.area:
        parts.append(f"on {record.area}")
    return " ".join(parts)


def _by(who: Applicator) -> str:
    license = f", {who.license_kind}, license {who.license_number}" if who.license_number else ""
    under = f"\nunder {who.supervisor}" if who.supervisor else ""
    return f"{who.name}{license}{under}"


def _facts(rows: Sequence[tuple[str, str]]) -> Table:
    table = Table(
        [[_text(key, KEY), _text(value, PLAIN)] for key, value in rows],
        colWidths=[76, INNER - 76],
    )
    table.setStyle(
        TableStyle(
            [
                ("LINEBELOW", (0, 0), (-1, -1), 0.5, black),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("TOPPADDING", (0, 0), (-1, -1), 3),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
            ]
        )
    )
    return table


def _left_out(places: Sequence[NotTreated]) -> list[Flowable]:
    if not places:
        return []
    return [*_heading("Not treated, and why"), _facts([(one.place, one.why) for one in places])]


def _to_do(tasks: Sequence[ToDo]) -> list[Flowable]:
    if not tasks:
        return []
    return [*_heading("For you to do"), _facts([(f"by {one.by}", one.what) for one in tasks])]


def _precautions(records: Sequence[NoticeRecord]) -> list[Flowable]:
    said: dict[str, dict[str, None]] = {}
    for one in records:
        if one.precautions:
            said.setdefault(one.precautions, {})[one.product] = None
    if not said:
        return []
    lines = [
        _text(f"{', '.join(products)}: {text}" if len(said) > 1 else text, PLAIN)
        for text, products in said.items()
    ]
    return [*_heading("Precautions of the label"), Spacer(1, 3), *lines]


def _sheets(notice: Notice) -> type[Canvas]:
    """A canvas that knows how many sheets there are when it frames each of them."""

    class Sheets(Canvas):  # type: ignore[misc]
        def __init__(self, *args: Any, **options: Any) -> None:
            super().__init__(*args, **options)
            self.kept: list[dict[str, Any]] = []

        def showPage(self) -> None:
            self.kept.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, page in enumerate(self.kept, start=1):
                self.__dict__.update(page)
                _frame(self, notice, f"{number} of {len(self.kept)}")
                super().showPage()
            super().save()

    return Sheets


def _frame(canvas: Canvas, notice: Notice, sheet: str) -> None:
    canvas.setLineWidth(1.2)
    canvas.rect(EDGE, EDGE, WIDTH - 2 * EDGE, HEIGHT - 2 * EDGE)
    canvas.line(EDGE, HEIGHT - EDGE - HEAD, WIDTH - EDGE, HEIGHT - EDGE - HEAD)
    canvas.line(EDGE, EDGE + FOOT, WIDTH - EDGE, EDGE + FOOT)
    _head(canvas, notice, sheet)
    _foot(canvas, notice.firm)
    if notice.demo:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawCentredString(WIDTH / 2, EDGE - 14, DEMO)


def _head(canvas: Canvas, notice: Notice, sheet: str) -> None:
    firm = notice.firm
    license = f"Business license {firm.license_number}" if firm.license_number else ""
    under = ". ".join(part for part in (firm.address, license) if part)
    top, right = HEIGHT - EDGE - HEAD, WIDTH - EDGE
    _cell(canvas, EDGE, top, right - 190 - EDGE, [(firm.name, NUMBER), (under, FINE)])
    day = short_day(notice.treated_on, True)
    _cell(canvas, right - 190, top, 110, [("Treated", KEY), (day, NUMBER)])
    _cell(canvas, right - 80, top, 80, [("Sheet", KEY), (sheet, NUMBER)])
    for left in (right - 190, right - 80):
        canvas.line(left, top, left, HEIGHT - EDGE)


def _foot(canvas: Canvas, firm: Firm) -> None:
    after_hours = firm.after_hours.replace(" ", "\u00a0")
    words = f"The firm. After hours {after_hours}" if after_hours else "The firm"
    calls = (*CALLS, (firm.phone or firm.name, words))
    width = (WIDTH - 2 * EDGE) / len(calls)
    for place, (number, words) in enumerate(calls):
        left = EDGE + place * width
        _cell(canvas, left, EDGE, width, [(number, NUMBER), (words, FINE)], height=FOOT)
        if place:
            canvas.line(left, EDGE, left, EDGE + FOOT)


def _cell(
    canvas: Canvas,
    left: float,
    bottom: float,
    width: float,
    lines: Sequence[tuple[str, ParagraphStyle]],
    height: float = HEAD,
) -> None:
    rows: list[Flowable] = [_text(words, style) for words, style in lines if words]
    Frame(
        left, bottom, width, height,
        leftPadding=INSET, rightPadding=4, topPadding=6, bottomPadding=0,
    ).addFromList(rows, canvas)  # fmt: skip
