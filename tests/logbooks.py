"""Rows of a site logbook for tests, and one of each guarded table."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import date
from typing import Any

from django.db import models

from sites.models import (
    CorrectiveAction,
    CorrectiveStep,
    ManagementPlan,
    Property,
    Sighting,
    SightingAnswer,
    SiteReview,
)
from tests.factories import TODAY, make_branch, make_customer, make_property


def make_sighting(place: Property, **fields: Any) -> Sighting:
    """Ants in the kitchen, told by link."""
    values: dict[str, Any] = {
        "what": "Ants",
        "spot": "Kitchen",
        "seen_on": TODAY,
        "how_many": "few",
        "way": "link",
        "once": uuid.uuid4(),
    }
    return Sighting.objects.create(property=place, **values | fields)


def _place() -> Property:
    return make_property(make_customer(make_branch()))


def _action() -> CorrectiveAction:
    return CorrectiveAction.objects.create(
        property=_place(), what="Fit a sweep.", spot="Dock", side="firm", asked_on=TODAY
    )


LOGBOOK_ROWS: dict[str, Callable[[], models.Model]] = {
    "sites_sighting": lambda: make_sighting(_place()),
    "sites_sightinganswer": lambda: SightingAnswer.objects.create(
        sighting=make_sighting(_place()), note="Baited.", done_in_words="No visit and no record"
    ),
    "sites_managementplan": lambda: ManagementPlan.objects.create(
        property=_place(), version=1, text="Look first.", written_on=TODAY, written_by="Pat"
    ),
    "sites_sitereview": lambda: SiteReview.objects.create(
        property=_place(),
        reviewed_on=TODAY,
        reviewed_by="Pat",
        notes="Fewer mice.",
        next_due=date(2027, 11, 25),
    ),
    "sites_correctiveaction": lambda: _action(),
    "sites_correctivestep": lambda: CorrectiveStep.objects.create(
        action=_action(), note="Fitted.", done_on=TODAY
    ),
}
