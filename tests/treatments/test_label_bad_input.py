"""What cannot be entered about labels and lots, posted to its page: a sentence at its field.

Beside each stands what the page keeps of what was typed. More cases of single fields are in
`test_label_entry` and `test_stock_views`.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse

from accounts import uploads
from accounts.models import Person
from tests.factories import client_for, make_label, make_product
from tests.treatments.conftest import NOW
from tests.treatments.label_entries import label_of, register
from tests.treatments.stock_cases import Shelf, shelf
from tests.treatments.test_label_entry import DIRECTION
from treatments.models import LabelFile, LabelVersion, ProductLot, StockMove
from treatments.services import label_files
from treatments.services.labels import enter_label
from treatments.services.withdrawals import withdraw_label

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
RECEIPT = {
    "lot_number": "L-77", "containers": "2", "container_size": "32", "container_unit": "fl_oz",
    "received_on": "2026-11-01", "dealer": "Demonstration Supply",
}  # fmt: skip


@pytest.fixture
def version(manager: Person) -> LabelVersion:
    """A whole label that is not verified."""
    return enter_label(
        label=label_of(register(manager), 0, directions=(), limits=()), by=manager, is_draft=True
    )


def said(answer: HttpResponse, field: str | None, words: str) -> None:
    """Refused on the page itself, at its field, in these words."""
    assert answer.status_code == 422
    errors = answer.context["form"].errors  # type: ignore[attr-defined]
    assert words in str(errors[field or "__all__"]), errors


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"rate_unit": "lb"}, "rate_unit", "without its density a weight is no volume"),
        ({"gallons_per_1000": "0"}, "gallons_per_1000", "above zero"),
        ({"per_gallon": "1"}, "gallons_per_1000", "needs the gallons of finished spray"),
        (
            {"rate_basis": "finished_volume"}, "gallons_per_1000",
            "needs the gallons of finished spray",
        ),
        ({"rate_min": "1.2"}, "rate_min", "is above the highest"),
        ({"places": []}, "places", "tick at least one use site"),
    ],
)  # fmt: skip
def test_a_direction(
    version: LabelVersion, manager: Person, fields: dict[str, Any], field: str, words: str
) -> None:
    typed = DIRECTION | {"title": "Typed title", "page": "p. 55"} | fields
    answer = client_for(manager).post(f"{version.get_absolute_url()}directions/add/", typed)
    said(answer, field, words)
    html = answer.content.decode()
    assert 'value="Typed title"' in html and 'value="p. 55"' in html
    assert not version.uses.exists()


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"GIF89a no label", "not a PDF"), (b"", "empty"), (b"%PDF-" + b"x" * 60, "above 20 MB")],
)
def test_a_paper(
    version: LabelVersion, manager: Person, monkeypatch: pytest.MonkeyPatch, content: bytes,
    words: str,
) -> None:  # fmt: skip
    monkeypatch.setattr(label_files, "MOST_BYTES", 40)
    upload = SimpleUploadedFile("label.pdf", content)
    typed = {"kind": "safety_sheet", "file": upload}
    answer = client_for(manager).post(f"{version.get_absolute_url()}files/add/", typed)
    said(answer, "file", words)
    assert '<option value="safety_sheet" selected>' in answer.content.decode()
    assert not LabelFile.objects.exists()


def test_a_paper_of_200_mb_is_counted_and_never_kept(
    version: LabelVersion, manager: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """200 KB stand for 200 MB here, 20 for 20, with chunks of 64 KB as they arrive."""
    monkeypatch.setattr(uploads, "MOST_BYTES", 25_000)
    monkeypatch.setattr(label_files, "MOST_BYTES", 20_000)
    kept: list[int] = []
    of_django = "django.core.files.uploadhandler.{}FileUploadHandler.receive_data_chunk"
    for kind in ("Memory", "Temporary"):
        monkeypatch.setattr(of_django.format(kind), lambda self, raw, start: kept.append(len(raw)))
    upload = SimpleUploadedFile("label.pdf", b"%PDF-" + b"x" * 200_000)
    answer = client_for(manager).post(
        f"{version.get_absolute_url()}files/add/", {"kind": "label", "file": upload}
    )
    said(answer, "file", "above 20 MB")
    assert kept == [] and not LabelFile.objects.exists()


def test_a_superseded_label(manager: Person) -> None:
    product = make_product()
    old = make_label(product, is_verified=False).label_version
    make_label(product, effective_on=date(2026, 6, 1))
    url, client = old.get_absolute_url(), client_for(manager)
    for part in ("edit", "directions/add", "limits/add", "protections/add", "fill-turn"):
        answer = client.post(f"{url}{part}/", DIRECTION)
        html = answer.content.decode()
        assert answer.status_code == 422 and "is superseded and stays as it is" in html
        assert f"{url}supersede/" in html


def test_a_product_without_an_ingredient(manager: Person) -> None:
    product = register(manager, ingredients=())
    draft = enter_label(
        label=label_of(product, 0, directions=(), limits=()), by=manager, is_draft=True
    )
    client, url = client_for(manager), draft.get_absolute_url()
    client.post(f"{url}directions/add/", DIRECTION)
    answer = client.post(f"{url}complete/")
    assert answer.status_code == 422
    assert "needs at least one active ingredient" in answer.content.decode()
    draft.refresh_from_db()
    assert draft.is_draft and draft.uses.count() == 1
    assert "No active ingredient of the product is entered yet" in client.get(url).content.decode()
    added = {"common_name": "demothrin", "percent_by_weight": "0", "pounds_per_gallon": "0.6"}
    answer = client.post(f"{product.get_absolute_url()}ingredients/add/", added)
    said(answer, "percent_by_weight", "above 0, up to 100")
    assert 'value="demothrin"' in answer.content.decode()


def received(shelf: Shelf, **changes: Any) -> HttpResponse:
    known = {"label_version": shelf.house.use.label_version_id, "place": shelf.store.pk}
    answer: HttpResponse = client_for(shelf.manager).post(
        "/stock/receive/", RECEIPT | known | changes
    )
    return answer


def test_a_lot_with_another_label_version(shelf: Shelf) -> None:
    old = shelf.house.use.label_version
    shelf.receive("L-77")
    new = make_label(old.product, effective_on=date(2026, 6, 1)).label_version
    answer = received(shelf, label_version=new.pk)
    said(answer, "label_version", "was received under the")
    assert 'value="L-77"' in answer.content.decode() and ProductLot.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"container_unit": "lb"}, "container_unit", "Choose a unit of volume"),
        ({"container_size": "-32"}, "container_size", ""),
        ({"containers": "0"}, "containers", ""),
    ],
)
def test_a_delivery(shelf: Shelf, fields: dict[str, str], field: str, words: str) -> None:
    answer = received(shelf, **fields)
    said(answer, field, words)
    assert 'value="Demonstration Supply"' in answer.content.decode()
    assert not ProductLot.objects.exists()


def test_stock_below_zero(shelf: Shelf) -> None:
    """A manager's move below zero is kept as it was and opens a matter; a count is never below."""
    lot, client = shelf.receive(), client_for(shelf.manager)
    url = lot.get_absolute_url()
    typed = {"place": shelf.store.pk, "amount": "-1", "unit": "fl_oz", "reason": "Looked."}
    answer = client.post(f"{url}count/", typed)
    said(answer, "amount", "")
    assert 'value="Looked."' in answer.content.decode() and StockMove.objects.count() == 1
    moved = {"from_place": shelf.store.pk, "to_place": shelf.truck.pk, "unit": "fl_oz"}
    assert client.post(f"{url}transfer/", moved | {"amount": "70"}).status_code == 302
    assert "Below zero" in client.get(url).content.decode()


def test_a_day_of_withdrawal_that_is_none(manager: Person) -> None:
    version = make_label().label_version
    url = f"{version.get_absolute_url()}withdraw/"
    answer = client_for(manager).post(url, {"last_day": "soon", "reason": "Recalled."})
    said(answer, "last_day", "write the day")
    assert 'value="Recalled."' in answer.content.decode()
    withdraw_label(
        label_version_id=version.pk, last_day=NOW.date(), reason="x", by=manager, now=NOW
    )
    again = {"last_day": NOW.date().isoformat(), "reason": "Recalled."}
    said(client_for(manager).post(url, again), "last_day", "already")
