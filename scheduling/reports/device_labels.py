"""Labels of devices to cut out: number, property, code; thirty on a letter sheet."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from reportlab.lib.pagesizes import LETTER
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from sites.rules.devices.numbers import DeviceLabel
from treatments.reports.notice import drawable
from treatments.reports.paper import DEMO

ACROSS, DOWN = 3, 10
EDGE = 28
WIDE = (LETTER[0] - 2 * EDGE) / ACROSS
HIGH = (LETTER[1] - 2 * EDGE - 14) / DOWN


def draw_device_labels(labels: Sequence[DeviceLabel], *, demo: bool) -> bytes:
    """The labels as PDF, in rows of three with lines to cut along."""
    paper = BytesIO()
    canvas = Canvas(paper, pagesize=LETTER, invariant=1)
    canvas.setTitle("Labels of devices")
    for place, label in enumerate(labels):
        spot = place % (ACROSS * DOWN)
        if place and not spot:
            canvas.showPage()
        if demo and not spot:
            canvas.setFont("Helvetica", 7)
            canvas.drawString(EDGE, EDGE - 10, DEMO)
        _draw(canvas, label, spot)
    canvas.save()
    return paper.getvalue()


def _draw(canvas: Canvas, label: DeviceLabel, spot: int) -> None:
    left = EDGE + spot % ACROSS * WIDE
    low = LETTER[1] - EDGE - (spot // ACROSS + 1) * HIGH
    canvas.setLineWidth(0.4)
    canvas.rect(left, low, WIDE, HIGH)
    canvas.setFont("Helvetica-Bold", 26)
    canvas.drawString(left + 8, low + HIGH - 30, str(label.number))
    # the kind stands beside the number, as far as that leaves room
    room = WIDE - 24 - stringWidth(str(label.number), "Helvetica-Bold", 26)
    canvas.setFont("Helvetica", 8)
    canvas.drawRightString(left + WIDE - 8, low + HIGH - 14, _cut(label.kind, 8, room))
    canvas.drawRightString(left + WIDE - 8, low + HIGH - 25, f"Property {label.property_code}")
    canvas.setFont("Courier-Bold", 11)
    canvas.drawString(left + 8, low + 20, label.code)
    canvas.setFont("Helvetica", 7)
    called = ", ".join(part for part in (label.firm, label.phone) if part)
    canvas.drawString(left + 8, low + 8, _cut(called, 7, WIDE - 16))


def _cut(text: str, size: int, width: float) -> str:
    """The text as the font can draw it, cut to a width in points."""
    words = drawable(text)
    while words and stringWidth(words, "Helvetica", size) > width:
        words = words[:-1]
    return words
