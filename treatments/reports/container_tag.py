"""The tag of a service container, as PDF: who answers for it and what is in it.

Content: reference/regulations.md 1.8 (firm with address and telephone, product, registration
number, active ingredient and percent in the container, dilution, signal word, day, technician).
"""

from __future__ import annotations

from io import BytesIO

from reportlab.lib.units import inch
from reportlab.platypus import Flowable, SimpleDocTemplate, Spacer

from treatments.reports.notice import BIG, FINE, KEY, PLAIN, TITLE, _text
from treatments.reports.tag_words import ContainerTag

SHEET = (4 * inch, 6 * inch)
EDGE = 0.3 * inch
CARE = (
    "Not a food or drink container. Keep closed, upright and locked away. The label of the "
    "product governs: keep it with this container."
)


def draw_container_tag(tag: ContainerTag) -> bytes:
    """The tag as one PDF page of 4 by 6 inches."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=SHEET, title="Container tag",
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE,
    )  # fmt: skip
    document.build(_story(tag))
    return out.getvalue()


def _story(tag: ContainerTag) -> list[Flowable]:
    rows = (
        ("Registration number", tag.registration_number),
        ("Active ingredient in this container", "; ".join(tag.ingredients)),
        ("Dilution", tag.dilution),
        ("Mixed on", tag.mixed_on),
        ("Technician", tag.technician),
        ("Answers for it", f"{tag.firm}\n{tag.address}\n{tag.phone}"),
    )
    story: list[Flowable] = [
        _text(tag.signal_word, TITLE),
        Spacer(1, 6),
        _text(tag.product, BIG),
        Spacer(1, 4),
    ]
    for key, text in rows:
        story += [_text(key, KEY), _text(text or "not given", PLAIN), Spacer(1, 5)]
    story.append(_text(CARE, FINE))
    if tag.is_demonstration:
        story.append(_text("Demonstration: firm, product and numbers are invented.", FINE))
    return story
