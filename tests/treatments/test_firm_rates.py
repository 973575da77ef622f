"""The firm chooses the rate that is proposed; the label stays as it is."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from accounts.models import AuditEvent, Person
from accounts.refusals import Refused
from scheduling.selectors.mix_choices import Choice, with_defaults
from tests.factories import client_for
from tests.treatments.conftest import NOW, House
from treatments.models import FirmRate, LabelUse
from treatments.selectors.whole import direction_named
from treatments.services.firm_rates import choose_firm_rate
from treatments.services.labels import supersede_label
from treatments.services.recording import record_application

pytestmark = pytest.mark.django_db


@pytest.fixture
def low(house: House) -> LabelUse:
    """The band's direction with a low rate of half its maximum."""
    LabelUse.objects.filter(pk=house.use.pk).update(rate_min=Decimal("0.5"))
    use = direction_named(house.use.pk)
    assert use is not None
    return use


def proposed(use: LabelUse, choice: Choice) -> str:
    again = direction_named(use.pk)
    return with_defaults(choice, again, ()).rate


def test_low_is_proposed_until_the_firm_says_otherwise(low: LabelUse, manager: Person) -> None:
    assert proposed(low, Choice()) == "low"
    choose_firm_rate(label_use_id=low.pk, choice="middle", by=manager)
    assert proposed(low, Choice()) == "middle"
    assert AuditEvent.objects.filter(act="choose_firm_rate").exists()
    # what the technician chose for this direction stays, for another one it does not
    assert proposed(low, Choice(rate="low", of=low.pk)) == "low"
    assert proposed(low, Choice(rate="low", of=low.pk + 1)) == "middle"


def test_a_used_label_gets_a_rate_too(house: House, low: LabelUse, manager: Person) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    client = client_for(manager)
    page = client.get(f"/labels/{low.label_version_id}/").content.decode().replace("\xa0", " ")
    assert "Low rate, 0.50 fl oz per 1,000 sq ft" in page
    answer = client.post(f"/directions/{low.pk}/rate/", {"choice": "middle"}, follow=True)
    page = answer.content.decode().replace("\xa0", " ")
    assert "Middle rate, 0.75 fl oz per 1,000 sq ft" in page


def test_what_the_direction_does_not_offer_is_refused(house: House, manager: Person) -> None:
    for choice in ("middle", "high", "most", ""):
        with pytest.raises(Refused, match="one rate only"):
            choose_firm_rate(label_use_id=house.use.pk, choice=choice, by=manager)
    answer = client_for(manager).post(f"/directions/{house.use.pk}/rate/", {"choice": "middle"})
    assert answer.status_code == 422 and not FirmRate.objects.exists()


def test_the_next_version_keeps_what_the_firm_proposes(low: LabelUse, manager: Person) -> None:
    choose_firm_rate(label_use_id=low.pk, choice="middle", by=manager)
    new = supersede_label(
        label_version_id=low.label_version_id,
        label_date=date(2026, 12, 1),
        effective_on=date(2026, 12, 1),
        by=manager,
    )
    assert new.uses.get().firm_rate.choice == "middle"
