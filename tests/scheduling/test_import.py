"""Taking over a firm's spreadsheet: all or nothing, twice is once, every refusal by line."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from accounts.models import AuditEvent, Branch, Contact, Customer, Person
from accounts.refusals import Refused
from scheduling.services.import_report import ImportReport
from scheduling.services.importing import import_accounts
from sites.models import Property, TreatableZone
from tests.factories import TODAY, make_branch
from tests.scheduling.sheets import sheet
from treatments.models import HistoricBatch, HistoricTreatment, LogEntry, ResidualWindow

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
TWO_ZONES = (
    {},
    {
        "zone_name": "Eaves",
        "zone_place": "eave_soffit",
        "last_applied_on": "",
        "last_product": "",
        "last_residual_days": "",
        "last_applicator": "",
    },
)


def take(raw: bytes, by: Person | None = None, **options: object) -> ImportReport:
    return import_accounts(
        raw=raw,
        file_name="firm.csv",
        by=by,
        today=TODAY,
        now=NOW,
        **options,  # type: ignore[arg-type]
    )


def counts() -> tuple[int, ...]:
    tables = (Branch, Customer, Contact, Property, TreatableZone, HistoricTreatment, LogEntry)
    return tuple(table.objects.count() for table in tables)


def test_an_empty_house_gets_its_first_branch_and_everything_in_the_file() -> None:
    report = take(sheet(*TWO_ZONES))
    assert report.is_stored
    assert counts() == (1, 1, 1, 1, 2, 1, 1)
    branch = Branch.objects.get()
    assert (branch.name, branch.state, branch.time_zone) == (
        "Main branch",
        "OH",
        "America/New_York",
    )
    zone = TreatableZone.objects.get(name="Foundation")
    # 180 ft x (3 up + 3 out) = 1,080 sq ft; 1 ft = 304.8 mm exactly (NIST SP 811, B.9)
    assert zone.area_mm2 == 1080 * 304800**2 // 1_000_000
    assert Contact.objects.get().phone == "+16145550142"
    assert Property.objects.get().latitude == Decimal("40.0934")


def test_a_last_treatment_becomes_history_with_its_window_and_one_leaf() -> None:
    take(sheet(*TWO_ZONES))
    history = HistoricTreatment.objects.get()
    assert (history.product_as_written, history.applicator_as_written) == (
        "Demonstration A SC",
        "A. Someone",
    )
    window = ResidualWindow.objects.get()
    # September 10 and 90 days: 20 left in September, 31, 30, so December 9
    assert (window.applied_on, window.expires_on) == (date(2026, 9, 10), date(2026, 12, 9))
    assert LogEntry.objects.get().kind == "history"
    assert HistoricBatch.objects.get().rows == 1


def test_missing_facts_stay_missing() -> None:
    row = {
        "last_product": "",
        "last_applicator": "",
        "last_residual_days": "",
        "phone": "",
        "email": "",
        "contact_name": "",
        "latitude": "",
        "longitude": "",
        "service_county": "",
    }
    take(sheet(row))
    history = HistoricTreatment.objects.get()
    assert (history.product_as_written, history.residual_days) == ("", None)
    assert ResidualWindow.objects.count() == 0
    assert Contact.objects.count() == 0
    assert Property.objects.get().latitude is None


def test_the_same_file_twice_changes_nothing_and_says_so() -> None:
    take(sheet(*TWO_ZONES))
    before, events = counts(), AuditEvent.objects.count()
    again = take(sheet(*TWO_ZONES))
    assert again.is_unchanged
    assert not again.is_stored
    assert again.words() == ["firm.csv: nothing changed, 2 rows known."]
    assert (counts(), AuditEvent.objects.count()) == (before, events)


def test_a_dry_run_says_what_it_would_do_and_stores_nothing() -> None:
    report = take(sheet(*TWO_ZONES), dry_run=True)
    assert counts() == (0,) * 7
    assert report.words()[0] == (
        "firm.csv: would make 1 branch, 1 customer, 1 contact, 1 property, 2 zones, "
        "1 last treatment."
    )
    assert "line 3: new zone Eaves at 12 Oak Street" in report.words()


@pytest.mark.parametrize(
    ("row", "line"),
    [
        ({"service_zip": ""}, "line 3, column service_zip: is empty. Fill it in."),
        ({"wall_run_ft": "-4"}, "line 3, column wall_run_ft: is negative"),
        ({"last_applied_on": "2026-02-31"}, "line 3, column last_applied_on: 2026-02-31 is not"),
        ({"zone_place": "roof"}, 'line 3, column zone_place: "roof" is not known'),
        ({"customer_name": "=1+1"}, 'line 3, column customer_name: begins with "="'),
        ({"height_up_ft": "5000"}, "line 3, column height_up_ft: "),
    ],
    ids=["no ZIP", "negative run", "31 February", "unknown place", "formula", "too high"],
)
def test_one_bad_row_and_nothing_is_stored(row: dict[str, str], line: str) -> None:
    raw = sheet({}, row | {"zone_name": "Second", "service_street": "99 Elm Street"})
    for options in ({}, {"dry_run": True}, {"update": True}):
        report = take(raw, **options)
        assert report.is_refused
        assert report.words()[0] == "firm.csv: 1 row to correct, nothing stored."
        assert report.words()[1].startswith(line)
        assert counts() == (0,) * 7


@pytest.mark.parametrize(
    ("raw", "word"),
    [
        (b"", "empty"),
        (b"name,street\nPat,Oak\n", "missing"),
        (sheet({"customer_name": "Jos\u00e9 P"}, encoding="latin-1"), "not UTF-8"),
    ],
    ids=["empty file", "wrong header", "Latin-1"],
)
def test_a_file_that_cannot_be_read_is_refused(raw: bytes, word: str) -> None:
    report = take(raw)
    assert report.is_refused
    assert word in report.words()[1]
    assert counts() == (0,) * 7


def test_other_values_are_listed_and_refused_without_update() -> None:
    take(sheet(*TWO_ZONES))
    changed = sheet(
        {"wall_run_ft": "200", "phone": "614-555-0199"}, TWO_ZONES[1] | {"phone": "614-555-0199"}
    )
    report = take(changed)
    assert report.is_refused
    assert "line 2, zone Foundation at 12 Oak Street: wall_run_ft is 180.00, the file says 200" in (
        report.words()
    )
    assert TreatableZone.objects.get(name="Foundation").wall_run == "180"


def test_other_values_are_taken_with_update_and_then_known() -> None:
    take(sheet(*TWO_ZONES))
    changed = sheet(
        {
            "wall_run_ft": "200",
            "phone": "614-555-0199",
            "billing_address": "PO Box 8",
            "customer_kind": "commercial",
            "service_county": "Delaware",
        }
    )
    assert take(changed, update=True).is_stored
    assert TreatableZone.objects.get(name="Foundation").wall_run == "200"
    assert Contact.objects.get().phone == "+16145550199"
    customer = Customer.objects.get()
    assert (customer.billing_address, customer.kind) == ("PO Box 8", "commercial")
    assert Property.objects.get().county == "Delaware"
    assert take(changed).is_unchanged


def test_an_empty_cell_changes_nothing() -> None:
    take(sheet({}))
    assert take(
        sheet(
            {
                "billing_address": "",
                "phone": "",
                "email": "",
                "latitude": "",
                "longitude": "",
                "service_county": "",
                "contact_name": "",
            }
        )
    ).is_unchanged


def test_a_treatment_taken_over_is_never_rewritten() -> None:
    take(sheet({}))
    report = take(sheet({"last_residual_days": "60"}), update=True)
    assert report.is_refused
    assert "last_residual_days" in report.words()[1]
    assert ResidualWindow.objects.get().days == 90


def test_a_later_last_treatment_is_added() -> None:
    take(sheet({}))
    assert take(sheet({"last_applied_on": "2026-11-01"})).new["last treatment"] == 1
    assert HistoricTreatment.objects.count() == 2


def test_rows_of_one_address_are_one_property_however_it_is_spelled() -> None:
    take(
        sheet(
            {}, {"zone_name": "Eaves", "service_street": "12 OAK ST.", "service_zip": "43085-1234"}
        )
    )
    assert Property.objects.count() == 1
    assert TreatableZone.objects.count() == 2


def test_one_name_with_two_billing_addresses_is_two_customers() -> None:
    second = {"service_street": "99 Elm Street", "billing_address": "PO Box 9"}
    take(sheet({}, second))
    assert Customer.objects.count() == 2
    assert take(sheet({}, second)).is_unchanged


def test_a_property_without_billing_address_joins_the_customer_of_that_name() -> None:
    second = {"service_street": "99 Elm Street", "billing_address": ""}
    take(sheet({}, second))
    assert (Customer.objects.count(), Property.objects.count()) == (1, 2)
    assert take(sheet({}, second)).is_unchanged


def test_two_kinds_of_one_customer_are_a_bad_row() -> None:
    report = take(sheet({}, {"service_street": "99 Elm Street", "customer_kind": "commercial"}))
    assert report.words()[1] == (
        "line 3, column customer_kind: differs from line 2 of the same customer."
    )


def test_with_several_branches_the_only_one_of_the_state_is_meant() -> None:
    make_branch("Columbus", "OH")
    erie = make_branch("Erie", "PA")
    take(sheet({"service_state": "PA", "service_zip": "16501"}))
    assert Property.objects.get().branch == erie


def test_a_row_whose_branch_is_not_clear_is_refused() -> None:
    make_branch("Columbus", "OH")
    make_branch("Dayton", "OH")
    report = take(sheet({}))
    assert report.words()[1] == (
        "line 2, column service_state: 2 branches are in OH. Name the branch with --branch."
    )
    report = take(sheet({"service_state": "WV", "service_zip": "26003"}))
    assert "no branch is in WV" in report.words()[1]
    assert Property.objects.count() == 0


def test_a_named_branch_takes_every_row() -> None:
    make_branch("Columbus", "OH")
    dayton = make_branch("Dayton", "OH")
    take(sheet({}), branch_name="dayton")
    assert Property.objects.get().branch == dayton
    with pytest.raises(Refused, match="no branch called Akron"):
        take(sheet({}), branch_name="Akron")


def test_who_may_not_import_is_refused(technician: Person) -> None:
    with pytest.raises(Refused) as refused:
        take(sheet({}), by=technician)
    assert refused.value.code == "not_permitted"


def test_the_office_imports_into_its_own_branch(office: Person) -> None:
    make_branch("Erie", "PA")
    assert take(sheet({}), by=office).is_stored
    assert Property.objects.get().branch == office.branch


@pytest.fixture
def written(tmp_path: Path) -> Callable[[bytes], Path]:
    def write(raw: bytes) -> Path:
        path = tmp_path / "firm.csv"
        path.write_bytes(raw)
        return path

    return write


def test_the_command_prints_and_ends_with_1_for_a_bad_row(
    written: Callable[[bytes], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(sheet({"service_zip": "4308"}))
    for options in ([], ["--dry-run"]):
        with pytest.raises(SystemExit) as ended:
            call_command("import_accounts", str(path), "--today", "2026-11-25", *options)
        assert ended.value.code == 1
        assert "line 2, column service_zip" in capsys.readouterr().out


def test_the_command_ends_well_twice(
    written: Callable[[bytes], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(sheet({}))
    call_command("import_accounts", str(path), "--branch", "North", "--today", "2026-11-25")
    call_command("import_accounts", str(path), "--today", "2026-11-25")
    assert "nothing changed" in capsys.readouterr().out
    assert Branch.objects.get().name == "North"


def test_the_command_names_a_file_that_is_not_there() -> None:
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("import_accounts", "no-such-file.csv")
