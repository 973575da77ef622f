"""The kind of site is entered once at the property and asked by labels and rules from there."""

from __future__ import annotations

import pytest

from accounts.models import Person
from sites.models import Property
from tests.factories import client_for
from tests.treatments.conftest import House
from tests.treatments.test_checks import ask, codes
from treatments.models import LabelLimit
from treatments.rules.predicates import Fact
from treatments.selectors.profile_jobs import followed_by

pytestmark = pytest.mark.django_db


def enter(house: House, office: Person, kind: str) -> int:
    client, path = client_for(office), f"/properties/{house.place.pk}/edit/"
    form = {k: v for k, v in client.get(path).context["form"].initial.items() if v is not None}
    return client.post(path, form | {"site_kind": kind}).status_code


def test_a_label_that_forbids_schools_asks_the_property(house: House, office: Person) -> None:
    LabelLimit.objects.create(
        label_version=house.use.label_version,
        fact="school",
        comparison="forbidden",
        limit=0,
        severity="refuse",
        sentence="Not for use in schools.",
        page="p. 2",
    )
    asked = ask(house)
    assert "school" in {question.code for question, _ in asked.questions}
    assert followed_by(asked.setting).job.facts.get(Fact.SCHOOL_SITE) is None
    assert enter(house, office, "castle") == 422
    for kind, is_one in (("day_care", True), ("food_plant", False)):
        assert enter(house, office, kind) == 302
        page = client_for(office).get(f"/properties/{house.place.pk}/").content.decode()
        assert Property.objects.get().get_site_kind_display() in page
        found = ask(house)
        assert "school" not in {question.code for question, _ in found.questions}
        assert ("school" in codes(found, "refuse")) is is_one
        assert followed_by(found.setting).job.facts[Fact.SCHOOL_SITE] is is_one
