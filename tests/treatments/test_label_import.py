"""A label file in the database: in, out again, and refused whole."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from accounts.models import Person
from accounts.refusals import Refused
from tests.factories import make_pest
from tests.treatments.rules.test_label_file import LABEL, PESTS, PRODUCT
from treatments.models import LabelVersion, Product
from treatments.rules.label_file import FileRefused, write
from treatments.selectors.label_copies import label_document
from treatments.services.label_import import import_label

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
RAW = json.dumps(write(PRODUCT, LABEL, PESTS)).encode()


@pytest.fixture(autouse=True)
def pests(db: None) -> None:
    """The pests of the file."""
    for name in PESTS.values():
        make_pest(name)


def test_what_is_imported_is_exported_the_same(manager: Person) -> None:
    done = import_label(raw=RAW, by=manager)
    assert (done.is_new_product, done.directions, done.limits) == (True, 1, len(LABEL.limits))
    version = LabelVersion.objects.get()
    assert (version.is_draft, version.verifications.count()) == (False, 0)
    assert label_document(version) == json.loads(
        json.dumps(write(PRODUCT, LABEL, {1: "House ant", 2: "Boxelder bug"}))
    )


def test_a_dry_run_stores_nothing(manager: Person) -> None:
    assert import_label(raw=RAW, by=manager, dry_run=True).directions == 1
    assert not Product.objects.exists() and not LabelVersion.objects.exists()


def test_a_second_label_of_that_day_and_another_product_are_refused(manager: Person) -> None:
    import_label(raw=RAW, by=manager)
    with pytest.raises(FileRefused) as refused:
        import_label(raw=RAW, by=manager)
    assert refused.value.mistakes[0].startswith("label.effective_on: This product has a label")
    document = json.loads(RAW)
    document["product"]["ingredients"][0]["percent_by_weight"] = "8"
    with pytest.raises(FileRefused) as refused:
        import_label(raw=json.dumps(document).encode(), by=manager)
    assert refused.value.mistakes[0].startswith("product.ingredients: It differs")


def test_who_may_not_edit_labels_imports_nothing(office: Person) -> None:
    with pytest.raises(Refused) as refused:
        import_label(raw=RAW, by=office)
    assert refused.value.code == "not_permitted"


def test_the_command_says_what_it_did_and_names_every_mistake(tmp_path: Path) -> None:
    path = tmp_path / "label.json"
    path.write_bytes(RAW)
    said = StringIO()
    call_command("import_label", str(path), "--dry-run", stdout=said)
    assert "Nothing is stored." in said.getvalue()
    call_command("import_label", str(path), stdout=said)
    assert LabelVersion.objects.count() == 1
    path.write_bytes(RAW.replace(b'"p. 4"', b'""'))
    with pytest.raises(CommandError, match=r"directions\[0\]\.page: must not be empty"):
        call_command("import_label", str(path))
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("import_label", str(tmp_path / "missing.json"))
    schema = StringIO()
    call_command("import_label", "--schema", stdout=schema)
    assert json.loads(schema.getvalue())["properties"]["format"] == {"const": "eaveline-label/1"}
