"""A one-page stand-in for the printed label of a product that does not exist."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from reportlab.lib.pagesizes import letter
from reportlab.pdfgen.canvas import Canvas

LEFT, TOP, LINE = 72, 720, 16


def draw_demonstration_label(title: str, lines: Sequence[str]) -> bytes:
    """Return a letter-size PDF with a title, the lines, and the mark of a demonstration."""
    paper = BytesIO()
    canvas = Canvas(paper, pagesize=letter, invariant=1)
    canvas.setTitle(title)
    canvas.setFont("Helvetica-Bold", 16)
    canvas.drawString(LEFT, TOP, title)
    canvas.setFont("Helvetica", 10)
    for number, line in enumerate((*lines, "Demonstration: no such product exists."), start=2):
        canvas.drawString(LEFT, TOP - LINE * number, line)
    canvas.save()
    return paper.getvalue()
