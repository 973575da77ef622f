"""The property plan for paper: the same lines and words, in black, as a drawing of reportlab."""

from __future__ import annotations

from reportlab.graphics.shapes import Drawing as Paper
from reportlab.graphics.shapes import Path, String
from reportlab.lib.colors import HexColor, black, white

from sites.reports.plan_drawing import Plan, Stroke, Words, draw

GRAY = HexColor("#444444")
# line width, dashes, and what fills a ring
LOOKS: dict[str, tuple[float, tuple[float, ...] | None, object]] = {
    "l-wall": (2.0, None, None),
    "l-band": (0.8, None, None),
    "l-lapsed": (1.2, (3, 3), None),
    "l-bare": (0.8, (1, 2), None),
    "l-eave": (0.8, (8, 3, 2, 3), None),
    "l-gap": (1.2, (2, 3), None),
    "l-dim": (0.5, (4, 2), None),
    "mk": (1.0, None, white),
    "dot": (0.5, None, black),
    "sc-a": (0.6, None, black),
    "sc-b": (0.6, None, white),
}
THIN = (0.4, None, None)


def plan_paper(plan: Plan, *, width: float) -> Paper:
    """A plan as a flowable that is `width` points wide; it stands on any sheet of reportlab."""
    drawing = draw(plan, "wide")
    scale = width / drawing.width
    paper = Paper(width, drawing.height * scale)
    paper.scale(scale, scale)
    for item in drawing.items:
        if isinstance(item, Words):
            paper.add(_string(item, drawing.height))
        elif item.lines:
            paper.add(_path(item, drawing.height))
    return paper


def _path(item: Stroke, height: float) -> Path:
    line, dashes, filled = LOOKS.get(item.kind, THIN)
    path = Path(
        strokeColor=black, strokeWidth=line, strokeDashArray=dashes, fillColor=filled, fillMode=0
    )
    for ring in item.lines:
        path.moveTo(ring[0][0], height - ring[0][1])
        for x, y in ring[1:]:
            path.lineTo(x, height - y)
        if item.closed:
            path.closePath()
    return path


def _string(item: Words, height: float) -> String:
    is_bold = " b" in item.kind or "refuse" in item.kind
    return String(
        item.x,
        height - item.y,
        # the standard faces of a PDF hold these letters and no others
        item.text.encode("cp1252", "replace").decode("cp1252"),
        fontName="Helvetica-Bold" if is_bold else "Helvetica",
        fontSize=11.5 if " s" in item.kind else 13,
        textAnchor="middle" if item.centered else "start",
        fillColor=black if is_bold else GRAY,
    )
