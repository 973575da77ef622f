"""The emergency sheet as PDF: about three products a page, the numbers to call on every page.

Data are given at once to medical staff in an emergency: reference/regulations.md 2.5
(Pennsylvania, New Jersey, read). Numbers as on the notice; control, contain and clean up as NPIC
and extension pages teach it (reference/trade.md, safety facts, read).
"""

from __future__ import annotations

from io import BytesIO

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import LETTER
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)

from treatments.reports.emergency_words import EmergencySheet, SheetProduct
from treatments.reports.notice import (
    BIG,
    CALLS,
    DEMO,
    EDGE,
    FINE,
    FOOT,
    GRAY,
    HEAD,
    INNER,
    INSET,
    KEY,
    NUMBER,
    _cell,
    _style,
    _text,
    drawable,
)

WIDTH, HEIGHT = LETTER
SMALL = _style("small", 9.5)
AID = _style("aid", 10.5)
FIRST = (
    "Trouble breathing, a seizure, cannot be woken: call 911. Hand over the label and this sheet.",
    "Swallowed, in eyes, on skin, ill: first aid of the label, then Poison Help.",
    "Spilled: control, contain, clean up; protective equipment on, upwind, none into drains.",
)
NOT_ENTERED = "Not entered here: read the label in your hand."
LABEL_WIDTH = 74


def draw_emergency_sheet(sheet: EmergencySheet) -> bytes:
    """The sheet as PDF on letter paper; a product is never split over two pages."""
    out = BytesIO()
    document = BaseDocTemplate(
        out, pagesize=LETTER, title="Emergency sheet", author=drawable(sheet.firm)
    )
    frame = Frame(
        EDGE, EDGE + FOOT, WIDTH - 2 * EDGE, HEIGHT - 2 * EDGE - HEAD - FOOT,
        leftPadding=INSET, rightPadding=INSET, topPadding=8, bottomPadding=2,
    )  # fmt: skip

    def framed(canvas: Canvas, document: BaseDocTemplate) -> None:
        _frame(canvas, sheet, document.page)

    document.addPageTemplates(PageTemplate("sheet", [frame], onPage=framed))
    document.build(_story(sheet))
    return out.getvalue()


def _story(sheet: EmergencySheet) -> list[Flowable]:
    story: list[Flowable] = [_text(sheet.about, BIG), Spacer(1, 5), _first_things(), Spacer(1, 4)]
    if not sheet.products:
        story.append(_text(sheet.none, BIG))
    for product in sheet.products:
        story += [Spacer(1, 5), KeepTogether(_product(product))]
    return story


def _first_things() -> Table:
    box = Table([[[_text(one, SMALL) for one in FIRST]]], colWidths=[INNER])
    box.setStyle(
        TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 1.2, black),
                ("TOPPADDING", (0, 0), (-1, -1), 3),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
            ]
        )
    )
    return box


def _product(product: SheetProduct) -> list[Flowable]:
    """Name and signal word on one line, then facts in two columns, then the first aid."""
    restricted = " Restricted use." if product.is_restricted else ""
    head = Table(
        [[_text(product.name, BIG), _text(product.signal_word, BIG)]],
        colWidths=[INNER - 130, 130],
    )
    head.setStyle(_ruled(1.2))
    page = f" ({product.first_aid_page})" if product.first_aid and product.first_aid_page else ""
    facts = [
        ("Registration", f"{product.registration_number}{restricted}"),
        ("Active", product.ingredients),
        ("Label of", product.label_date),
        ("Safety sheet", product.safety_sheet),
        ("Where", product.where),
        ("", ""),
    ]
    return [
        head,
        _facts(facts),
        # as paragraphs, which may go over a page where a label says more than fits one
        *_said("Re-entry", product.reentry or NOT_ENTERED),
        *_said("First aid", f"{product.first_aid or NOT_ENTERED}{page}"),
    ]


def _said(name: str, words: str) -> list[Flowable]:
    return [Spacer(1, 2), _text(name, KEY), _text(words, AID)]


def _facts(facts: list[tuple[str, str]]) -> Table:
    """The short facts two a line."""
    half = (INNER - 2 * LABEL_WIDTH) / 2
    cells = [
        [*_pair(left), *_pair(right)] for left, right in zip(facts[::2], facts[1::2], strict=True)
    ]
    table = Table(cells, colWidths=[LABEL_WIDTH, half, LABEL_WIDTH, half])
    table.setStyle(_ruled(0.5))
    return table


def _pair(fact: tuple[str, str]) -> list[Paragraph]:
    return [_text(fact[0], KEY), _text(fact[1], SMALL)]


def _ruled(width: float) -> TableStyle:
    return TableStyle(
        [
            ("LINEBELOW", (0, 0), (-1, -1), width, black),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
        ]
    )


def _frame(canvas: Canvas, sheet: EmergencySheet, page: int) -> None:
    canvas.setLineWidth(1.2)
    canvas.rect(EDGE, EDGE, WIDTH - 2 * EDGE, HEIGHT - 2 * EDGE)
    canvas.line(EDGE, HEIGHT - EDGE - HEAD, WIDTH - EDGE, HEIGHT - EDGE - HEAD)
    canvas.line(EDGE, EDGE + FOOT, WIDTH - EDGE, EDGE + FOOT)
    top, right = HEIGHT - EDGE - HEAD, WIDTH - EDGE
    firm = ". ".join(part for part in (sheet.firm, sheet.address) if part)
    _cell(canvas, EDGE, top, right - 190 - EDGE, [("Emergency sheet", NUMBER), (firm, FINE)])
    _cell(canvas, right - 190, top, 150, [("Made", KEY), (sheet.made, FINE)])
    _cell(canvas, right - 50, top, 50, [("Page", KEY), (str(page), NUMBER)])
    _calls(canvas, sheet)
    if sheet.demo:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawCentredString(WIDTH / 2, EDGE - 14, DEMO)


def _calls(canvas: Canvas, sheet: EmergencySheet) -> None:
    hours = f"The firm. After hours {sheet.after_hours}" if sheet.after_hours else "The firm"
    calls = (*CALLS, (sheet.phone or sheet.firm, hours))
    width = (WIDTH - 2 * EDGE) / len(calls)
    for place, (number, words) in enumerate(calls):
        left = EDGE + place * width
        _cell(canvas, left, EDGE, width, [(number, NUMBER), (words, FINE)], height=FOOT)
