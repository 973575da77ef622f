"""One house from the firm's spreadsheet to the inspector's proof, every number worked by hand.

The house band of 60 by 40 ft, 3 ft up and 5 ft out, one gallon and one fluid ounce per 1,000 sq ft
is derived (units: NIST Handbook 44, Appendix C; tree: RFC 9162 2.1.1). Nothing is mocked but the
clock.
"""

from __future__ import annotations

import io
import uuid
from datetime import date
from hashlib import sha256
from pathlib import Path

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection
from pypdf import PdfReader

from accounts.models import Person
from scheduling.models import Renewal, Visit
from scheduling.rules.visit_states import RenewalState, VisitState
from sites.rules.places import PestGroup
from tests.factories import client_for, make_label, make_pest, make_product, make_shift
from treatments.models import (
    ApplicationRecord,
    LabelUse,
    LogEntry,
    RecordPersonalValue,
    ResidualWindow,
    ZoneProtection,
)

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
SHEET = """\
customer_name,customer_kind,contact_name,phone,email,billing_address,service_street,service_city,\
service_county,service_state,service_zip,latitude,longitude,zone_name,zone_place,wall_run_ft,\
height_up_ft,width_out_ft,surface,exposure,last_product,last_residual_days,last_applied_on,\
last_applicator
Nadia Castellane,residential,Nadia Castellane,(614) 555-0142,,14 Heron Lane,14 Heron Lane,\
Pellbrook,Ferris,OH,00412,40.40,-82.66,Foundation band,foundation_wall,200,3,5,porous_masonry,sun,\
Demonstration A SC,90,2026-08-20,Terry Technician
"""
# 200 ft x (3 + 5) ft = 1,600 sq ft; 1 sq ft = 92,903.04 mm2
AREA_MM2 = 148_644_864
# 1 fl oz = 29.5735295625 mL: 1.6 fl oz = 47.3176473 mL; 1 gal = 3,785.411784 mL
PRODUCT_UL, FINISHED_UL = 47_318, 6_056_659


@pytest.fixture
def direction(technician: Person) -> LabelUse:
    """1 fl oz and 1 gal per 1,000 sq ft, 90 days, 21 between; the technician works on Tuesdays."""
    make_shift(technician, weekday=1)
    stink_bug = make_pest("Brown marmorated stink bug", PestGroup.OVERWINTERING)
    use = {"rate_max": 1, "per_gallon": 1, "min_interval_days": 21, "page": "p. 7"}
    product = make_product("Demonstration A SC", registration_number="99999-101")
    return make_label(product, pests=[stink_bug], use=use)


def said(command: str, *arguments: str) -> str:
    out = io.StringIO()
    call_command(command, *arguments, stdout=out)
    return out.getvalue()


def test_from_spreadsheet_to_proof(
    direction: LabelUse, office: Person, technician: Person, manager: Person, tmp_path: Path
) -> None:
    with time_machine.travel("2026-11-23T15:00:00Z", tick=False):
        renewal = due_from_the_spreadsheet(tmp_path)
        visit = booked(office, technician, renewal)
        assert "Terry Technician" in said("plan_routes", "--date", "2026-11-24")
    with time_machine.travel("2026-11-24T15:00:00Z", tick=False):
        record = recorded(technician, visit, direction)
        protected(record, visit, renewal)
        told(technician, visit)
        audited(manager, record)
        proven(record)


def due_from_the_spreadsheet(folder: Path) -> Renewal:
    sheet = folder / "accounts.csv"
    sheet.write_text(SHEET)
    assert "would make" in said("import_accounts", str(sheet), "--dry-run")
    assert not ResidualWindow.objects.exists()
    said("import_accounts", str(sheet))
    assert "nothing changed" in said("import_accounts", str(sheet)).lower()
    said("sweep", "--today", "2026-11-23")
    renewal = Renewal.objects.get()
    assert "Foundation band: 90 d label claim" in renewal.reason
    assert "from Aug 20, lapsed Nov 18" in renewal.reason
    said("sweep", "--today", "2026-11-23")
    assert Renewal.objects.count() == 1
    return renewal


def booked(office: Person, technician: Person, renewal: Renewal) -> Visit:
    client = client_for(office)
    assert "14 Heron Lane" in client.get("/renewals/").content.decode()
    form = {"technician": technician.pk, "minutes": 40, "note": ""}
    form |= {"window_opens": "08:00", "window_closes": "12:00"}
    refused = client.post(f"/renewals/{renewal.pk}/book/", form | {"day": "2026-11-22"})
    assert refused.status_code == 422
    answer = client.post(f"/renewals/{renewal.pk}/book/", form | {"day": "2026-11-24"})
    assert answer.status_code == 302, answer.content.decode()
    return Visit.objects.get(renewal=renewal)


def recorded(technician: Person, visit: Visit, direction: LabelUse) -> ApplicationRecord:
    client = client_for(technician)
    assert "Nadia Castellane" in client.get("/today/").content.decode()
    client.post(f"/stops/{visit.pk}/start/")
    zone = visit.property.zones.get()
    choice = f"?zone={zone.pk}&use={direction.pk}&tank=1"
    mix = client.get(f"/stops/{visit.pk}/mix/{choice}").content.decode().replace("\xa0", " ")
    assert "1,600 sq ft" in mix
    # the proposal stays 5 % under the maximum of 1.6 fl oz, in two loads of a 1-gal can
    assert "1.52 fl oz" in mix
    assert "Load 2 of 2" in mix
    form = {"client_ref": str(uuid.uuid4()), "product_amount": "1.6", "product_unit": "fl_oz"}
    form |= {"finished_amount": "1.6", "finished_unit": "gal", "ending": "finish"}
    form |= {
        "started": "09:30",
        "finished": "09:54",
        "protective_equipment": "on",
        "notes": "Gate.",
    }
    for _ in range(2):
        answer = client.post(f"/stops/{visit.pk}/record/{choice}", form)
        assert answer.status_code == 302, answer.content.decode()
    return ApplicationRecord.objects.get()


def protected(record: ApplicationRecord, visit: Visit, renewal: Renewal) -> None:
    assert (record.product_amount, record.product_ul) == ("1.6", PRODUCT_UL)
    assert (record.finished_ul, record.area_mm2) == (FINISHED_UL, AREA_MM2)
    assert not record.judgements.filter(severity__in=["violation", "warn"]).exists()
    window = ResidualWindow.objects.get(treated_area__record=record)
    # 90 days after November 24; 21 days before the label lets anybody come back
    assert window.expires_on == date(2027, 2, 22)
    assert window.opens_on == date(2026, 12, 15)
    assert ZoneProtection.objects.get(counts=True).window == window
    visit.refresh_from_db()
    renewal.refresh_from_db()
    assert (visit.state, renewal.state) == (VisitState.DONE, RenewalState.DONE)


def told(technician: Person, visit: Visit) -> None:
    paper = client_for(technician).get(f"/visits/{visit.pk}/notice.pdf").content
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(paper)).pages)
    for fact in (
        "Demonstration A SC",
        "99999-101",
        "1.6 fl oz",
        "1,600 sq ft",
        "Terry Technician",
        "1-800-222-1222",
        "1-800-858-7378",
        "until dry",
    ):
        assert fact in text


def audited(manager: Person, record: ApplicationRecord) -> None:
    client = client_for(manager)
    page = client.get("/use-log/?product=Demonstration+A+SC").content.decode()
    page = page.replace("\xa0", " ")
    assert "1.00 fl oz" in page
    assert f"/record/{record.pk}/" in page
    rows = client.get("/use-log.csv").getvalue().decode().splitlines()
    assert len(rows) == 2
    for fact in ("1.6 fl oz", "99999-101", "Terry Technician", "1,600 sq ft"):
        assert fact in rows[1].replace("\xa0", " ")


def tree_root(leaves: list[bytes]) -> bytes:
    """The root as RFC 9162 2.1.1 writes it, with nothing but hashlib."""
    if len(leaves) == 1:
        return sha256(b"\x00" + leaves[0]).digest()
    half = 1 << ((len(leaves) - 1).bit_length() - 1)
    return sha256(b"\x01" + tree_root(leaves[:half]) + tree_root(leaves[half:])).digest()


def proven(record: ApplicationRecord) -> None:
    entries = LogEntry.objects.filter(branch=record.branch).order_by("seq")
    leaves = [bytes(entry.leaf) for entry in entries]
    assert [entry.seq for entry in entries] == list(range(len(leaves)))
    personal = (b"Castellane", b"14 Heron Lane", b"Terry", b"Gate.")
    assert not any(name in leaf for leaf in leaves for name in personal)
    last = bytes(entries.get(record=record).leaf)
    for value in RecordPersonalValue.objects.filter(record=record):
        # the digest alone stands in the log: salt, field, value with a zero byte between
        spoken = b"\0".join((value.salt, value.field.encode(), value.value.encode()))
        assert sha256(spoken).hexdigest().encode() in last
    assert tree_root(leaves).hex() in said("verify_log")
    change_behind_the_guards(record)
    with pytest.raises(CommandError):
        said("verify_log")


def change_behind_the_guards(record: ApplicationRecord) -> None:
    name = "treatments_applicationrecord"
    table = f" ON {name}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}_keep_update{table}")
        cursor.execute(f"UPDATE {name} SET product_amount = '1.0' WHERE id = %s", [record.pk])
