"""Table and paper of a bundle: kinds of work, wall runs, and what counts among the versions."""

from __future__ import annotations

import csv
import json
from hashlib import sha256
from pathlib import Path

import pytest
from pypdf import PdfReader

from accounts.models import Person
from sites.models import WallRun
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import corrected, voided
from tests.treatments.test_bundles import bundle, checked, lines, rewrite, unpacked
from treatments.models import ApplicationRecord
from treatments.reports.bundle_table import part_of
from treatments.rules.applications import TreatedZone
from treatments.selectors.log_keys import key_fingerprint
from treatments.services.recording import record_application

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("log_files")]


@pytest.mark.parametrize(
    ("record", "path", "said"),
    [
        ({"a": {"b": 0}}, "a.b", "0"),
        ({"a": {"b": False}}, "a.b", "no"),
        ({"a": {"b": True}}, "a.b", "yes"),
        ({"a": None}, "a.b", ""),
        ({}, "a.b", ""),
        ({"a": ["x", "y"]}, "a", "x; y"),
        ({"a": [{"b": "x"}, {"b": ""}]}, "a.b", "x; "),
        ({"a": []}, "a", ""),
    ],
)
def test_a_part_by_its_path(record: object, path: str, said: str) -> None:
    assert part_of(record, path) == said


def done(house: House, **changes: object) -> ApplicationRecord:
    application = house.application(**changes)
    return record_application(application=application, by=house.technician, now=NOW).record


@pytest.fixture
def records(house: House, manager: Person) -> dict[str, ApplicationRecord]:
    """Runs left out, work without a product, a record corrected, one voided."""
    runs = [("North wall", "100"), ("Behind the fence", "20")]
    for place, (name, length) in enumerate(runs):
        row = {"name": name, "length": length, "position": place, "length_mm": int(length) * 305}
        WallRun.objects.create(zone=house.band, **row)
    fence = WallRun.objects.get(name="Behind the fence")
    zones = (TreatedZone(house.band.pk, left_out=((fence.pk, "fence"),)),)
    nothing = {
        "label_use_id": None, "method": "no_product", "product_amount": None,
        "finished_amount": None, "pest_ids": (), "work_kinds": ("vacuuming", "sealing"),
        "work_done": "Beetles at the attic hatch.",
    }  # fmt: skip
    first, twice = done(house, visit_ref="1"), done(house, visit_ref="2")
    return {
        "part": done(house, zones=zones, visit_ref="3"),
        "work": done(house, **nothing),
        "first": first,
        "after": corrected(first, house.technician, manager, wind_mph="4"),
        "twice": twice,
        "void": voided(twice, house.technician, manager),
    }


@pytest.fixture
def folder(records: dict[str, ApplicationRecord], tmp_path: Path) -> Path:
    return unpacked(bundle(), tmp_path / "bundle")


def test_the_table_says_runs_work_and_what_counts(
    folder: Path, records: dict[str, ApplicationRecord]
) -> None:
    with (folder / "records.csv").open(newline="") as file:
        rows = {int(row["Record"]): row for row in csv.DictReader(file)}
    part, work = (rows[records[name].pk] for name in ("part", "work"))
    assert part["Wall runs"] == "North wall; Behind the fence"
    assert part["Left out because"] == "; fence"
    assert work["Work without a product"] == "vacuuming; sealing"
    assert work["What was done"] == "Beetles at the attic hatch."
    counts = {name: rows[one.pk]["In force"] for name, one in records.items()}
    assert counts == {
        "part": "yes", "work": "yes", "first": "no", "after": "yes", "twice": "no", "void": "no"
    }  # fmt: skip
    assert checked(folder, "--key", key_fingerprint())[0] == 0


def test_on_paper_what_counts_stands_before_its_versions(
    folder: Path, records: dict[str, ApplicationRecord]
) -> None:
    text = "".join(page.extract_text() for page in PdfReader(folder / "records.pdf").pages[1:])
    places = {name: text.index(f"Record {one.pk}, leaf") for name, one in records.items()}
    assert places["after"] < places["first"]
    assert places["void"] < places["twice"]
    for name, words in (("after", "in force"), ("first", "an earlier version"), ("void", "voided")):
        heading = text[places[name] :].splitlines()[0]
        assert heading.endswith(words)
    assert "Behind the fence" in text and "vacuuming; sealing" in text


def test_what_counts_cannot_be_changed_in_silence(
    folder: Path, records: dict[str, ApplicationRecord]
) -> None:
    rows = lines(folder, "records.jsonl")
    for row in rows:
        row["in_force"] = True
    rewrite(folder, "records.jsonl", rows)
    manifest = json.loads((folder / "manifest.json").read_text())
    table = (folder / "records.csv").read_bytes().replace(b",no,", b",yes,")
    (folder / "records.csv").write_bytes(table)
    manifest["files"]["records.csv"] = sha256(table).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(manifest))
    code, said = checked(folder)
    assert code == 1 and "is not in force as the leaves say" in said
