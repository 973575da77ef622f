"""Reading what shows that somebody accepted: a drawn line, a typed name, a scan."""

from __future__ import annotations

import re

from accounts.refusals import Refused
from scheduling.rules.agreements import Accepted

WIDE, HIGH = 600, 200  # the field one draws in, in its own units
MOST_SIGNS, LEAST_POINTS = 20_000, 5
MOST_SCAN_BYTES = 10 * 1024 * 1024
_STROKE = re.compile(r"(?:M\d{1,3} \d{1,3}(?:L\d{1,3} \d{1,3})*)+")
SCANS = {b"%PDF-": "application/pdf", b"\xff\xd8\xff": "image/jpeg", b"\x89PNG": "image/png"}


def checked_signature(path: str) -> str:
    """A drawn signature as an SVG path of whole points inside the field.

    Refused: nothing drawn, a dot, anything that is no such path, too long a line.
    """
    path = path.strip()
    points = [int(number) for number in re.findall(r"\d+", path)]
    if len(path) > MOST_SIGNS:
        raise _refused("The signature is too long a line. Clear the field and draw it again.")
    if not _STROKE.fullmatch(path) or len(points) < 2 * LEAST_POINTS:
        raise _refused("Draw the signature in the field, or choose the typed name.")
    if any(x > WIDE for x in points[::2]) or any(y > HIGH for y in points[1::2]):
        raise _refused("The signature leaves its field. Clear the field and draw it again.")
    return path


def _refused(sentence: str) -> Refused:
    return Refused("signature", sentence, field="signature")


def scan_type(raw: bytes) -> str:
    """The type of a scan by its first bytes; refused: any other file, above 10 MB."""
    if len(raw) > MOST_SCAN_BYTES:
        raise Refused("scan", "The scan is above 10 MB. Scan it smaller.", field="scan")
    for head, kind in SCANS.items():
        if raw.startswith(head):
            return kind
    raise Refused("scan", "The scan must be a PDF, JPEG or PNG file.", field="scan")


def check_evidence(how: str, *, signer: str, signature: str, scan: bytes, note: str) -> None:
    """Refuse an acceptance that shows nothing of the kind it says."""
    if len(signer.split()) < 2:
        raise Refused("signer", "Write first and last name of who accepts.", field="signer")
    if how == Accepted.DRAWN:
        checked_signature(signature)
    if how == Accepted.PAPER:
        if not scan:
            raise Refused("scan", "Add the scan of the signed paper.", field="scan")
        scan_type(scan)
    if how == Accepted.EMAIL and not note.strip():
        sentence = "Write from which address the e-mail came and its day."
        raise Refused("note", sentence, field="note")
