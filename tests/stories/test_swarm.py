"""Bees that swarm: whoever goes there or reads the sighting is told to refer them."""

from __future__ import annotations

import uuid
from datetime import date

import pytest

from accounts.models import Branch, Person
from scheduling.rules.visit_states import RenewalState
from sites.models import Sighting
from tests.factories import client_for, make_visit
from tests.scheduling.views.rows import due_place
from tests.stories.test_safety_questions import words
from tests.stories.test_wall_runs import _ten_in_the_morning as _ten_in_the_morning

pytestmark = pytest.mark.django_db
REFER = "A beekeeper takes the swarm; nothing is sprayed."


def test_a_swarm_is_referred_where_it_is_met(
    branch_ohio: Branch, technician: Person, office: Person
) -> None:
    place = due_place(branch_ohio, technician, zones=1, state=RenewalState.DUE).property
    stop = make_visit(place, technician, date(2026, 11, 25))
    mine = client_for(technician)
    assert REFER not in words(mine.get(f"/stops/{stop.pk}/").content)
    seen = Sighting.objects.create(
        property=place,
        what="Swarm of honeybees",
        spot="Maple by the drive",
        seen_on=date(2026, 11, 24),
        how_many="many",
        way="link",
        once=uuid.uuid4(),
    )
    assert REFER in words(mine.get(f"/stops/{stop.pk}/").content)
    assert REFER in words(client_for(office).get(f"/sightings/{seen.pk}/").content)
