"""The answer of the inspection desk on paper, with the proofs as an appendix.

A record is one paragraph and not a table: two thousand of them must be drawn while somebody waits.
"""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from accounts.rules.day_words import clock, short_day
from treatments.reports.notice import drawable
from treatments.reports.paper import CODE, DEMO, EDGE, GRAY, INNER
from treatments.rules.desk import (
    DeskAnswer,
    DeskList,
    DeskProof,
    DeskRecord,
    DeskVersion,
    counted,
)

PLAIN = ParagraphStyle("plain", fontName="Helvetica", fontSize=8.5, leading=11)
SMALL = ParagraphStyle("small", fontName="Helvetica", fontSize=7.5, leading=9.5)
KEY = ParagraphStyle("key", parent=SMALL, textColor=GRAY)
TITLE = ParagraphStyle("title", fontName="Helvetica-Bold", fontSize=17, leading=22)
HEADING = ParagraphStyle(
    "heading", fontName="Helvetica-Bold", fontSize=11, leading=15, spaceBefore=10, keepWithNext=1
)
LINES = [
    ("LINEBELOW", (0, 0), (-1, -1), 0.4, black),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 1.5),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
]


def draw_desk(answer: DeskAnswer) -> bytes:
    """The whole answer as PDF; what has many lines stands after what sums it up."""
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=LETTER, title="Inspection desk", author=drawable(answer.branch_name),
        leftMargin=EDGE, rightMargin=EDGE, topMargin=EDGE, bottomMargin=EDGE + 14,
    )  # fmt: skip
    foot = _foot(answer)
    document.build(list(_story(answer)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _safe(words: str) -> str:
    return escape(drawable(words)).replace("\n", "<br/>")


def _text(words: str, style: ParagraphStyle = PLAIN) -> Paragraph:
    return Paragraph(_safe(words), style)


def _story(answer: DeskAnswer) -> Iterator[Flowable]:
    yield _text("Inspection desk", TITLE)
    yield _text(answer.question)
    firm = answer.branch_name
    if answer.business_license:
        firm += f", business license {answer.business_license}"
    yield _text(f"{firm}. As of {_moment(answer)}.")
    yield from (_text(sentence) for sentence in answer.notes)
    yield _text(_summary(answer))
    yield _text("What is not there", HEADING)
    for sentence in (*answer.missing, *answer.not_here):
        yield _text(f"- {sentence}")
    yield from _records(answer)
    for one in answer.lists:
        yield from draw_list(one)
    yield PageBreak()
    yield from _proofs(answer)


def _moment(answer: DeskAnswer) -> str:
    return f"{short_day(answer.as_of.date(), True)}, {clock(answer.as_of)} at the branch"


def _summary(answer: DeskAnswer) -> str:
    if not answer.records:
        return "No record fits this question."
    return (
        f"{counted(answer.in_force, 'record')} in force, {answer.voided} voided, "
        f"{answer.with_history} with more than one version."
    )


def _records(answer: DeskAnswer) -> Iterator[Flowable]:
    yield _text("Records, the last work first", HEADING)
    if not answer.records:
        yield _text("No record fits this question.")
    for record in answer.records:
        yield Paragraph(_record(record), PLAIN)
        yield Spacer(1, 5)


def _record(record: DeskRecord) -> str:
    state = "VOIDED. " if record.is_void else ""
    head = f"Record {record.pk}, {short_day(record.applied_on, True)}, {record.times}. {state}"
    named = [
        ("What", f"{record.what} {record.registration_number}".strip()),
        ("Used", record.amount or "no amount"),
        ("Where", record.where),
        ("Customer", record.customer),
        ("Applicator", record.applicator),
        ("License", record.license),
        ("Weather", record.weather or "not written down"),
        *record.facts,
    ]
    lines = [f"<b>{_safe(head)}</b>"]
    lines.append("; ".join(f"<b>{_safe(name)}:</b> {_safe(value)}" for name, value in named))
    lines += [_safe(f"{word}: {said} {clause}") for _, word, said, clause in record.judged]
    if len(record.versions) > 1:
        lines += [_safe(_version(one)) for one in record.versions]
    return "<br/>".join(lines)


def _version(one: DeskVersion) -> str:
    words = f"Version {one.number}, {one.word.lower()} {short_day(one.at.date(), True)}"
    words += f" by {one.by}" if one.by else ""
    words += f", approved by {one.approved_by}" if one.approved_by else ""
    words += f": {one.reason}" if one.reason else ""
    return f"{words} {'; '.join(one.changes)}".strip()


def draw_list(one: DeskList) -> Iterator[Flowable]:
    """One list under its heading, with what is not there."""
    yield _text(f"{one.title}: {one.said}", HEADING)
    for sentence in one.missing:
        yield _text(f"Not there: {sentence}", SMALL)
    if not one.rows:
        yield _text("Nothing to list.", SMALL)
        return
    rows = [[_text(word, KEY) for word in one.head]]
    rows += [[_text(cell, SMALL) for cell in row] for row in one.rows]
    table = Table(rows, colWidths=_widths(one), repeatRows=1)
    table.setStyle(TableStyle(LINES))
    yield table


def _widths(one: DeskList) -> list[float]:
    """Columns by their longest word count of letters, none under 42 points."""
    longest = [
        min(48, max(len(row[place]) for row in (one.head, *one.rows)))
        for place in range(len(one.head))
    ]
    spare = INNER - 42 * len(longest)
    return [42 + spare * letters / sum(longest) for letters in longest]


def _proofs(answer: DeskAnswer) -> Iterator[Flowable]:
    yield _text("Appendix: how to prove these records", TITLE)
    proof = answer.proof
    if proof is None:
        yield _text("No log was begun yet: it begins with the first record.")
        return
    yield from _head(proof)
    yield _text("Each record and its leaf", HEADING)
    for record in answer.records:
        yield Paragraph(_safe(_leaf(record, proof)), SMALL)


def _head(proof: DeskProof) -> Iterator[Flowable]:
    yield _text(
        f"Every entry of a record is a leaf of the log of {proof.branch_name}. A leaf that is "
        "changed, taken out or put in gives another root. The inspection bundle of the same "
        "question holds each leaf with its path to this root, and a script that checks them."
    )
    if not proof.signed_at:
        yield _text("No head of this log was signed yet.")
        return
    at = f"{short_day(proof.signed_at.date(), True)} {proof.signed_at:%H:%M} UTC"
    yield _text(f"Signed {at}: {counted(proof.signed_size, 'leaf', 'leaves')}.")
    yield _text(f"root {proof.signed_root}", CODE)
    yield _text(f"key  {proof.key}", CODE)
    for sentence in proof.differences or ("The leaves below were compared with this root.",):
        yield _text(sentence)


def _leaf(record: DeskRecord, proof: DeskProof) -> str:
    if record.leaf is None:
        return f"Record {record.pk} has no leaf in the log."
    under = "under" if record.leaf < proof.signed_size else "not yet under"
    return f"Record {record.pk} is leaf {record.leaf}, {under} the root: {record.leaf_hash}"


def _foot(answer: DeskAnswer) -> Any:
    words = drawable(f"{DEMO if answer.demo else ''}As of {_moment(answer)}")

    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFillColor(GRAY)
        canvas.setFont("Helvetica", 7.5)
        canvas.drawString(EDGE, EDGE - 8, words)
        canvas.drawRightString(LETTER[0] - EDGE, EDGE - 8, f"Sheet {document.page}")

    return foot
