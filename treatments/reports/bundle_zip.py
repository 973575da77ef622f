"""An inspection bundle as one zip file."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from hashlib import sha256
from importlib.resources import files
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZipFile

from accounts.rules.csv_out import write_csv
from treatments.reports.bundle_pdf import draw_bundle
from treatments.reports.bundle_table import COLUMNS, cells
from treatments.rules.bundles import BUNDLE_FORMAT, Bundle
from treatments.rules.leaves import instant

README = """Inspection bundle of {firm}
{scope}
As of {as_of}. {count} records.
{demo}
records.pdf    the records to read, with an index
records.csv    the same as a table
records.jsonl  the same for programs, each with its own personal values and their salts
leaves.jsonl   the leaf of each record in the log, with its proof of inclusion (RFC 9162)
heads.jsonl    signed heads of the log (Ed25519, RFC 8032), with proofs of consistency
manifest.json  what was asked for, and the SHA-256 of every file
verify.py      checks all of it with Python 3.10 or newer alone; it shares no code with the server

To check:   python3 -I verify.py --key FINGERPRINT
The fingerprint is one you already know: from an earlier bundle, from the daily mail, or written
down when the firm began. Without it the last line says so and the exit code is 3. A difference is
exit code 1; all right is 0.

Keys as this bundle has them (compare, do not trust because it stands here):
{keys}
{differences}
What it shows: each record here was in the log when the heads were signed, and nothing in it was
changed since. It does not show that the firm recorded everything it did. That this bundle was made
stands in the log too, with its SHA-256.
"""


def write_bundle(bundle: Bundle, out: IO[bytes]) -> None:
    """Write the zip into an open file."""
    kept: dict[str, str] = {}
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        for name, content in _files(bundle):
            kept[name] = sha256(content).hexdigest()
            archive.writestr(name, content)
        archive.writestr("manifest.json", _json(_manifest(bundle, kept)))


def _files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    yield "README.txt", _readme(bundle).encode()
    yield "verify.py", files("treatments.reports").joinpath("verify_bundle.py").read_bytes()
    yield "records.pdf", draw_bundle(bundle)
    header = [name for name, _ in COLUMNS]
    yield "records.csv", write_csv(header, map(cells, bundle.records)).encode()
    yield "records.jsonl", _lines(record.plain() for record in bundle.records)
    yield (
        "leaves.jsonl",
        _lines(
            {
                "branch": one.branch,
                "seq": one.seq,
                "leaf": one.leaf.decode("utf-8", "replace"),
                "proof": [node.hex() for node in one.proof],
            }
            for one in bundle.leaves
        ),
    )
    yield (
        "heads.jsonl",
        _lines(
            {**asdict(one.head), "proof": [node.hex() for node in one.proof]}
            for one in bundle.heads
        ),
    )


def _manifest(bundle: Bundle, kept: dict[str, str]) -> dict[str, Any]:
    return {
        "format": BUNDLE_FORMAT,
        "scope": bundle.scope.plain(),
        "as_of": instant(bundle.as_of),
        "logs": [
            {"branch": one.head.branch, "name": one.branch_name, "size": one.head.size}
            for one in bundle.logs
        ],
        "records": len(bundle.records),
        "leaves": len(bundle.leaves),
        "columns": [list(column) for column in COLUMNS],
        "differences": list(bundle.differences),
        "files": kept,
    }


def _readme(bundle: Bundle) -> str:
    found = "".join(f"Found when it was made: {one}\n" for one in bundle.differences)
    keys = dict.fromkeys(f"{one.branch_name}: {one.head.key}" for one in bundle.logs)
    return README.format(
        firm=bundle.firm,
        scope=bundle.scope_words,
        as_of=instant(bundle.as_of),
        count=len(bundle.records),
        demo="Demonstration: everything in it is invented.\n" if bundle.demo else "",
        keys="\n".join(keys),
        differences=f"\n{found}" if found else "",
    )


def _lines(rows: Iterable[dict[str, Any]]) -> bytes:
    return b"".join(_json(row) + b"\n" for row in rows)


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, sort_keys=True).encode()
