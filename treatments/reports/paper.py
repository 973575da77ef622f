"""What every paper for an inspector has in common: sheet, gray, code, demo mark."""

from __future__ import annotations

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle

EDGE = 40
INNER = LETTER[0] - 2 * EDGE
GRAY = HexColor("#444444")
CODE = ParagraphStyle("code", fontName="Courier", fontSize=7.5, leading=10)
DEMO = "Demonstration: every person, firm, place, product and number here is invented. "
