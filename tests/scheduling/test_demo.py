"""The demonstration: the whole round, told step by step and read back."""

from __future__ import annotations

import io
from datetime import timedelta
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.core.management import CommandError, call_command

from accounts.models import OpenItem, Person
from accounts.rules.register import RUNS_OUT, PaperKind
from accounts.rules.respirators import Papers
from accounts.selectors.people import respirator_papers
from accounts.selectors.register import register_lines
from scheduling.management import serving
from scheduling.rules.demo.places import spreadsheet
from scheduling.rules.demo.products import PRODUCTS
from scheduling.selectors.load_lists import load_page
from sites.models import Inspection, InspectionReport, Photo, Property
from tests.factories import TODAY, make_branch
from treatments.models import (
    ApplicationRecord,
    Incident,
    LabelLimit,
    LabelProtection,
    LabelVersion,
    LoadProduct,
    Product,
    RetentionHold,
    TreatedRun,
)
from treatments.selectors.log import verify_all
from treatments.selectors.stock_agreement import compare_use
from treatments.selectors.stock_page import stock_page
from treatments.selectors.windows import protection_drift

pytestmark = pytest.mark.django_db(transaction=True)
STEPS = (
    "Firm",
    "Stock",
    "Import, dry run",
    "Import",
    "Past weeks",
    "Count and check",
    "Register",
    "Sweep",
    "Book",
    "Plan routes",
    "Walls",
    "Inspect",
    "Record",
    "Ask the certified applicator",
    "Identify",
    "Devices",
    "Incident",
    "Site logbook",
    "Agreements",
    "Notice",
    "Copies",
    "Letters",
    "Correct records",
    "Use log",
    "Verify log",
    "Inspection bundle",
)


def told(**options: Any) -> str:
    out = io.StringIO()
    call_command("demo", no_serve=True, today=TODAY, stdout=out, **options)
    return out.getvalue()


def test_the_whole_round_and_then_nothing_twice(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    text = told()
    assert [line[4:] for line in text.splitlines() if line[:2].strip().isdigit()] == list(STEPS)
    assert Property.objects.count() == 60
    # one more whose label is still being entered
    assert Product.objects.count() == len(PRODUCTS) + 1 == 10
    assert Person.objects.technicians().count() == 5
    assert (tmp_path / "demo" / "demo-notice.pdf").read_bytes().startswith(b"%PDF")
    rows = (tmp_path / "demo" / "demo-use-log.csv").read_text().splitlines()
    assert len(rows) - 1 == ApplicationRecord.objects.standing().count() > 50
    with ZipFile(tmp_path / "demo" / "demo-inspection-bundle.zip") as archive:
        assert archive.read("records.jsonl").count(b"\n") > 20
        assert b"Demonstration: everything in it is invented." in archive.read("README.txt")
    # a use over the label is in the log, and the log is whole
    assert ApplicationRecord.objects.filter(judgements__severity="violation").exists()
    assert all(log.is_whole for log in verify_all())
    _safety_is_shown()
    _stock_is_kept()
    _an_incident_was_told()
    _papers_run_out()
    _something_is_left_out_mixed_and_forgotten()
    _a_house_was_inspected()
    assert protection_drift() == []
    made = ApplicationRecord.objects.count()
    assert "here already" in told()
    assert ApplicationRecord.objects.count() == made


def _safety_is_shown() -> None:
    """Labels that raise questions, a respirator for one of two technicians, a do not mix."""
    fitted = {person.full_name for person in Person.objects.technicians() if papers_of(person)}
    assert fitted == {"Jonas Lindqvist", "Mira Vargas"}
    rows = LabelProtection.objects.filter(item__icontains="respirator")
    assert all(len(row.respirators) == 1 for row in rows)
    assert {row.label_version.product.formulation for row in rows} == {"dust", "aerosol"}
    forbidden = LabelLimit.objects.filter(fact="tank_mix", comparison="forbidden")
    assert sorted(forbidden.values_list("named", flat=True)) == ["", "bifenthrin"]
    in_words = LabelLimit.objects.filter(label_version__product__name="Demonstration J EC")
    assert {"high_rate_only", "run_off", "rotation"} <= set(in_words.values_list("fact", flat=True))
    assert LabelLimit.objects.filter(fact="food_area_closed").count() == 1


def _something_is_left_out_mixed_and_forgotten() -> None:
    """A wall run left out with its reason, a tank of two products, an amount nobody wrote down."""
    left = TreatedRun.objects.exclude(reason="").get()
    assert left.area.runs.count() == 6 and not left.area.record.judgements.filter(
        severity="violation"
    )
    assert LoadProduct.objects.get().label_version.product.name == "Demonstration E SC"
    gap = OpenItem.objects.get(code="amount_missing")
    assert gap.thing.startswith("treatments.applicationrecord:")


def _a_house_was_inspected() -> None:
    """Two rounds of one house, a photo, a report, and what the customer has to do is kept open."""
    places = set(Inspection.objects.values_list("property", flat=True))
    assert (Inspection.objects.count(), len(places)) == (2, 1)
    assert Photo.objects.filter(is_sealed=False).count() == 2
    assert bytes(InspectionReport.objects.get().content).startswith(b"%PDF")
    assert OpenItem.objects.filter(code="customer_task", closed_at=None).count() == 1


def _papers_run_out() -> None:
    """Something of every kind near its end, and nobody's restricted use without training."""
    kinds = {line.kind for line in register_lines(None, TODAY)}
    assert kinds == set(PaperKind) - {PaperKind.VEHICLE_CHECK}
    said = OpenItem.objects.filter(code=RUNS_OUT).values_list("sentence", flat=True)
    for words in ("within 90", "within 60", "within 30", "this week", "ran out"):
        assert any(words in sentence for sentence in said), words
    assert not ApplicationRecord.objects.filter(judgements__code="training").exists()


def papers_of(person: Person) -> tuple[Papers, ...]:
    return respirator_papers(person.pk)


def _an_incident_was_told() -> None:
    """A spill with its notice, its record held; another record held by hand."""
    incident = Incident.objects.get()
    assert list(incident.addenda.values_list("kind", flat=True)) == ["addition", "notice"]
    assert RetentionHold.objects.filter(released_at=None).count() == 2
    assert not LabelVersion.objects.filter(first_aid="").exists()


def _stock_is_kept() -> None:
    """Every record took its product from a truck; what is to set right was made on purpose."""
    manager = Person.objects.get(email="manager@demo.example")
    assert compare_use(manager, TODAY - timedelta(days=90)).is_whole
    page = stock_page(manager, TODAY)
    assert {item.code for item in page.items} == {"stock_difference", "vehicle_item_missing"}
    assert {row.standing.state for row in page.vehicles} == {"ok", "check", "late"}
    assert any(row.word.startswith("Expires in") for row in page.rows)
    assert {row.is_short for row in page.reorder} == {True, False}
    assert any(load.lines for load in load_page(manager, TODAY + timedelta(days=1)).loads)


def test_it_never_mixes_with_a_firm_of_its_own() -> None:
    make_branch("Columbus", "OH")
    with pytest.raises(CommandError, match="firm of its own"):
        told()


def test_the_same_seed_and_day_give_the_same_spreadsheet() -> None:
    assert spreadsheet(seed=7, today=TODAY) == spreadsheet(seed=7, today=TODAY)
    assert spreadsheet(seed=7, today=TODAY) != spreadsheet(seed=8, today=TODAY)


def test_serving_is_refused_while_a_guard_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving.append_only, "missing", lambda *_: ["treatments_logentry"])
    with pytest.raises(CommandError, match="treatments_logentry"):
        serving.prepare()


@pytest.mark.parametrize(
    ("host", "is_refused"),
    [("127.0.0.1", False), ("::1", False), ("localhost", False), ("0.0.0.0", True)],
)
def test_plain_http_stays_on_this_machine(host: str, is_refused: bool) -> None:
    if not is_refused:
        assert serving.refuse_open_http(host, allowed=False) is None
        return
    assert serving.refuse_open_http(host, allowed=True) is None
    with pytest.raises(CommandError, match="plain http"):
        serving.refuse_open_http(host, allowed=False)
