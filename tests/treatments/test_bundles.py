"""The inspection bundle, checked by its own script in a process that knows nothing of us."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from datetime import date, timedelta
from hashlib import sha256
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
import time_machine
from django.core.management import CommandError, call_command
from pypdf import PdfReader

from accounts.models import AuditEvent, Person
from accounts.refusals import Refused
from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, LogEntry
from treatments.rules.bundles import BundleScope
from treatments.selectors.log import verify
from treatments.selectors.log_keys import key_fingerprint
from treatments.services.bundles import export_bundle
from treatments.services.log_heads import sign_heads
from treatments.services.log_keys import rotate_key
from treatments.services.recording import record_application

pytestmark = [
    pytest.mark.engine,
    pytest.mark.django_db,
    pytest.mark.usefixtures("log_files"),
]
ALL = BundleScope(date(2026, 1, 1), date(2026, 12, 31))


def bundle(scope: BundleScope = ALL) -> bytes:
    out = BytesIO()
    export_bundle(scope=scope, by=None, now=NOW, out=out)
    return out.getvalue()


def unpacked(content: bytes, to: Path) -> Path:
    with ZipFile(BytesIO(content)) as archive:
        archive.extractall(to)
    return to


def checked(folder: Path, *options: str) -> tuple[int, str]:
    """Run the script of the bundle as an inspector would: isolated, without any package."""
    command = [sys.executable, "-I", "-S", str(folder / "verify.py"), *options]
    run = subprocess.run(command, capture_output=True, text=True, cwd="/", env={}, timeout=120)
    assert not run.stderr
    return run.returncode, run.stdout


def lines(folder: Path, name: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (folder / name).read_text().splitlines()]


def rewrite(folder: Path, name: str, rows: list[dict[str, Any]]) -> None:
    """Change a file and its digest in the manifest, as somebody would who knows the form."""
    text = "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows)
    (folder / name).write_text(text)
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["files"][name] = sha256(text.encode()).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(manifest))


@pytest.fixture
def folder(three: House, tmp_path: Path) -> Path:
    return unpacked(bundle(), tmp_path / "bundle")


def test_the_script_says_all_right_with_the_key_and_3_without(folder: Path) -> None:
    code, said = checked(folder, "--key", key_fingerprint())
    assert (code, said.splitlines()[0]) == (0, "3 records, 3 leaves, 1 heads:")
    code, said = checked(folder)
    assert code == 3
    assert "signature not checked against a key you know" in said
    code, said = checked(folder, "--key", "0" * 64)
    assert (code, "is not signed by the key" in said) == (1, True)


def test_the_zip_itself_can_be_checked(three: House, tmp_path: Path, folder: Path) -> None:
    (tmp_path / "one.zip").write_bytes(bundle())
    code, _ = checked(folder, "--key", key_fingerprint(), str(tmp_path / "one.zip"))
    assert code == 0


def test_what_was_handed_over_is_logged(three: House) -> None:
    content = bundle()
    leaf = json.loads(bytes(LogEntry.objects.get(kind="bundle").leaf))
    assert leaf["payload"]["sha256"] == sha256(content).hexdigest()
    assert leaf["payload"]["scope"] == {"since": "2026-01-01", "until": "2026-12-31"}
    assert (
        AuditEvent.objects.get(act="export_bundle").thing == f"bundle:{sha256(content).hexdigest()}"
    )
    assert verify(three.place.branch_id, key=key_fingerprint(), now=NOW).is_whole


def test_only_the_salts_of_its_own_records_are_in_it(three: House, tmp_path: Path) -> None:
    one = unpacked(bundle(BundleScope(NOW.date(), NOW.date())), tmp_path / "one")
    assert checked(one, "--key", key_fingerprint())[0] == 0
    (record,) = lines(one, "records.jsonl")
    assert record["personal"]["customer_name"]["value"] == "Marta Ellwood"
    others = ApplicationRecord.objects.exclude(pk=record["record_id"])
    salts = [bytes(v.salt).hex() for other in others for v in other.personal_values.all()]
    whole = b"".join(path.read_bytes() for path in one.iterdir())
    assert salts and not any(salt.encode() in whole for salt in salts)


def test_people_read_the_pdf_and_the_table(folder: Path) -> None:
    sheets = [page.extract_text() for page in PdfReader(folder / "records.pdf").pages]
    first = ApplicationRecord.objects.order_by("pk")[0]
    assert "Records applied Jan 1, 2026 to Dec 31, 2026" in sheets[0]
    assert "As of 2026-11-25 20:00 UTC" in sheets[0]
    assert f"Record {first.pk}, leaf 0" in "".join(sheets[1:])
    assert "118 Sluice Lane" in sheets[1] and "1.6" in sheets[1]
    table = (folder / "records.csv").read_text().splitlines()
    assert len(table) == 4 and "Marta Ellwood" in table[1] and "99999-101" in table[1]


def _flip(text: str) -> str:
    return ("1" if text[0] == "0" else "0") + text[1:]


def _amount(folder: Path) -> None:
    rows = lines(folder, "records.jsonl")
    rows[1]["said"]["record"]["product_amount"] = "9"
    rewrite(folder, "records.jsonl", rows)


def _name(folder: Path) -> None:
    rows = lines(folder, "records.jsonl")
    rows[1]["personal"]["customer_name"]["value"] = "Somebody Else"
    rewrite(folder, "records.jsonl", rows)


def _leaf(folder: Path) -> None:
    rows = lines(folder, "leaves.jsonl")
    rows[1]["leaf"] = rows[1]["leaf"].replace('"product_amount":"1.6"', '"product_amount":"9"')
    rewrite(folder, "leaves.jsonl", rows)


def _spaced(folder: Path) -> None:
    rows = lines(folder, "leaves.jsonl")
    rows[1]["leaf"] = rows[1]["leaf"].replace('"actor":', '"actor": ')
    rewrite(folder, "leaves.jsonl", rows)


def _proof(folder: Path) -> None:
    rows = lines(folder, "leaves.jsonl")
    rows[1]["proof"][0] = _flip(rows[1]["proof"][0])
    rewrite(folder, "leaves.jsonl", rows)


def _root(folder: Path) -> None:
    rows = lines(folder, "heads.jsonl")
    rows[0]["root"] = _flip(rows[0]["root"])
    rewrite(folder, "heads.jsonl", rows)


def _signature(folder: Path) -> None:
    rows = lines(folder, "heads.jsonl")
    rows[0]["signature"] = _flip(rows[0]["signature"])
    rewrite(folder, "heads.jsonl", rows)


def _time(folder: Path) -> None:
    rows = lines(folder, "heads.jsonl")
    rows[0]["at"] = rows[0]["at"].replace("2026", "2025")
    rewrite(folder, "heads.jsonl", rows)


def _left_out(folder: Path) -> None:
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["records"] = 2
    (folder / "manifest.json").write_text(json.dumps(manifest))
    rewrite(folder, "records.jsonl", lines(folder, "records.jsonl")[:2])


def _cell(folder: Path) -> None:
    text = (folder / "records.csv").read_text().replace("99999-101", "99999-102", 1)
    (folder / "records.csv").write_text(text)
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["files"]["records.csv"] = sha256((folder / "records.csv").read_bytes()).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(manifest))


def _pdf(folder: Path) -> None:
    (folder / "records.pdf").write_bytes(b"%PDF-1.4 another one")


def _missing(folder: Path) -> None:
    (folder / "leaves.jsonl").unlink()


TAMPERED: dict[Callable[[Path], None], str] = {
    _amount: "is not what its leaf says",
    _name: "customer_name is not what was recorded",
    _leaf: "leaf 1 of branch",
    _spaced: "is not in the form of a leaf",
    _proof: "leaf 1 of branch",
    _root: "is not in the log that was signed",
    _signature: "the signature of the head of",
    _time: "the signature of the head of",
    _left_out: "has a leaf and is left out",
    _cell: "records.csv: Registration number of record",
    _pdf: "records.pdf is not as it was",
    _missing: "leaves.jsonl is missing",
}


@pytest.mark.parametrize("change", TAMPERED, ids=lambda change: change.__name__.strip("_"))
def test_whatever_is_changed_is_found(change: Callable[[Path], None], folder: Path) -> None:
    change(folder)
    code, said = checked(folder, "--key", key_fingerprint())
    assert code == 1
    assert said.startswith("DIFFERS: ") and TAMPERED[change] in said


def test_a_changed_key_is_followed_from_the_old_one(three: House, tmp_path: Path) -> None:
    sign_heads(now=NOW - timedelta(hours=1))
    old, new = rotate_key(now=NOW)
    folder = unpacked(bundle(), tmp_path / "bundle")
    assert [checked(folder, "--key", key)[0] for key in (old, new, "0" * 64)] == [0, 0, 1]


def test_a_value_that_is_no_longer_kept_is_told(three: House, tmp_path: Path) -> None:
    behind_the_guards("DELETE FROM treatments_recordpersonalvalue WHERE field = 'customer_name'")
    code, said = checked(unpacked(bundle(), tmp_path / "b"), "--key", key_fingerprint())
    assert code == 0 and "3 personal values are no longer kept" in said


def test_it_is_narrowed_by_whatever_is_given(
    make_house: Callable[..., House], house: House, other_technician: Person, tmp_path: Path
) -> None:
    other = make_house(street="1 Mill Road")
    for one in (house, other):
        record_application(application=one.application(), by=one.technician, now=NOW)
    base = {"since": NOW.date(), "until": NOW.date()}
    for narrowed, count in (
        ({"property_id": other.place.pk}, 1),
        ({"person_id": house.technician.pk}, 2),
        ({"person_id": other_technician.pk}, 0),
        ({"product": "99999-101"}, 2),
        ({"product": "demonstration a sc"}, 2),
        ({"lot": "none such"}, 0),
        ({"branch_id": house.place.branch_id}, 2),
    ):
        content = bundle(BundleScope(**base, **narrowed))  # type: ignore[arg-type]
        with ZipFile(BytesIO(content)) as archive:
            assert archive.read("records.jsonl").count(b"\n") == count, narrowed


def test_a_log_that_is_not_whole_is_handed_over_and_says_so(three: House, tmp_path: Path) -> None:
    sign_heads(now=NOW)
    behind_the_guards(f"UPDATE treatments_signedhead SET root = '{'0' * 64}'")
    folder = unpacked(bundle(), tmp_path / "b")
    assert "signature" in json.loads((folder / "manifest.json").read_text())["differences"][0]
    assert checked(folder)[0] == 1


def test_the_command_writes_it_for_its_owner_only(three: House, tmp_path: Path) -> None:
    out, said = tmp_path / "all.zip", StringIO()
    with time_machine.travel(NOW, tick=False):
        call_command(
            "inspection_bundle", "--from", "2026-11-01", "--to", "2026-11-30", "--person",
            three.technician.full_name, "--property", str(three.place.pk), "--product", "99999-101",
            "--branch", "columbus", "--out", str(out), stdout=said,
        )  # fmt: skip
    assert out.stat().st_mode & 0o777 == 0o600
    assert f"3 records\n  SHA-256 {sha256(out.read_bytes()).hexdigest()}" in said.getvalue()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["all.zip", "heads", "keys"]


@pytest.mark.parametrize(
    ("option", "value", "sentence"),
    [
        ("--branch", "Nowhere", "There is no branch named 'Nowhere'"),
        ("--person", "Nobody", "No applicator with a record goes by 'Nobody'"),
        ("--property", "999999", "No record is of a property"),
        ("--property", "a house", "No record is of a property"),
        ("--to", "2026-10-01", "The last day is before the first one"),
    ],
)
def test_the_command_says_what_it_does_not_know(
    option: str, value: str, sentence: str, three: House, tmp_path: Path
) -> None:
    out = tmp_path / "all.zip"
    given = {"--from": "2026-11-01", "--to": "2026-11-30", option: value, "--out": str(out)}
    with pytest.raises(CommandError, match=sentence):
        call_command("inspection_bundle", *[part for pair in given.items() for part in pair])
    assert not out.exists()


def test_a_technician_may_not(three: House) -> None:
    with pytest.raises(Refused, match="role does not include"):
        export_bundle(scope=ALL, by=three.technician, now=NOW, out=BytesIO())
    with pytest.raises(Refused, match="last day is before"):
        export_bundle(scope=BundleScope(ALL.until, ALL.since), by=None, now=NOW, out=BytesIO())
