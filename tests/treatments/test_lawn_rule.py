"""Ground beyond the label's band is lawn work in New York (DSHM-PES-05-11; 6 NYCRR 325.1(s)(3)).

The policy was read; what holds where a label gives no width was cut off in that copy, so nothing
is said there. Unverified or verified, it warns and opens check A12; it is no violation.
"""

from __future__ import annotations

import json
from decimal import Decimal

import pytest

from sites.models import Property
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, LabelLimit, LogEntry
from treatments.rules.audit.facts import RecordFacts, Said
from treatments.rules.audit.kinds import BAND
from treatments.rules.audit.records import audit
from treatments.services.profiles import load_profiles
from treatments.services.recording import record_application

BEYOND = "beyond_label_band"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("state", "label_width", "is_told"),
    [
        ("NY", "1", True),  # the band of the house goes farther out
        ("NY", "10", False),
        ("NY", None, False),  # a label without a width says nothing
        ("OH", "1", False),
    ],
)
def test_a_band_wider_than_the_label_s(
    house: House, state: str, label_width: str | None, is_told: bool
) -> None:
    load_profiles()
    Property.objects.update(state=state)
    assert Decimal(house.band.width_out) > 1
    if label_width:
        LabelLimit.objects.create(
            label_version=house.use.label_version,
            fact="width_out",
            comparison="at_most",
            limit=Decimal(label_width),
            severity="warn",
            sentence="A band.",
            page="p. 3",
        )
    record_application(application=house.application(), by=house.technician, now=NOW)
    record = ApplicationRecord.objects.get()
    told = list(record.judgements.filter(code=BEYOND))
    assert bool(told) is is_told
    if is_told:
        assert told[0].severity == "warn"
        assert "(read) This rule is not verified." in told[0].sentence
        assert told[0].clause.startswith("US-NY, ")
        leaf = json.loads(bytes(LogEntry.objects.get(record=record).leaf))
        assert BEYOND in {one["code"] for one in leaf["payload"]["judgements"]}


@pytest.mark.parametrize(("severity", "opens"), [("warn", True), ("note", False)])
def test_it_opens_check_a12(severity: str, opens: bool) -> None:
    found = audit(RecordFacts(about="A record", judged=(Said(BEYOND, severity, "Lawn work."),)))
    assert (BAND in found) is opens
    # the label's own band opens it only where it was broken
    other = audit(RecordFacts(about="A record", judged=(Said("width_out", "warn", "Wide."),)))
    assert BAND not in other
