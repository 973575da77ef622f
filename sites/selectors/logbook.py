"""Reading what is written about pests at a property: sightings, actions, plans, reviews, code."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db.models import Min, OuterRef, Q, QuerySet, Subquery
from django.http import Http404
from django.shortcuts import get_object_or_404

from accounts.rules.training import a_year_after
from accounts.selectors.contact_links import contact_link_for, link_of, link_of_session
from accounts.selectors.people import branches_for
from sites.models import (
    CorrectiveAction,
    ManagementPlan,
    Property,
    Sighting,
    SiteCode,
    SiteReview,
)
from sites.selectors.properties import properties_for

if TYPE_CHECKING:
    from accounts.models import Branch, ContactLink, Person


def sightings_of(property_id: int) -> QuerySet[Sighting]:
    """The sightings of a property with who told them and their answers, the last seen first."""
    rows = Sighting.objects.filter(property_id=property_id).select_related("reporter")
    return rows.prefetch_related("answers__created_by")


def unanswered_at(property_ids: Collection[int]) -> QuerySet[Sighting]:
    """The sightings of some properties that nobody has answered, the last seen first."""
    rows = Sighting.objects.filter(property__in=property_ids, answers__isnull=True)
    return rows.select_related("reporter")


def sighting_for(person: Person, pk: int, within_reach: Collection[int]) -> Sighting:
    """One sighting at a property that the person may see, or that is within reach; else Http404.

    `within_reach` are keys of properties where a technician has a stop.
    """
    rows = Sighting.objects.select_related("property__customer", "property__branch", "reporter")
    seen = Q(property__in=properties_for(person)) | Q(property__in=within_reach)
    return get_object_or_404(rows.filter(seen, property__branch__in=branches_for(person)), pk=pk)


def seen_days(property_id: int, since: date) -> list[date]:
    """The days of every sighting from a day on."""
    rows = Sighting.objects.filter(property_id=property_id, seen_on__gte=since).order_by()
    return list(rows.values_list("seen_on", flat=True))


def actions_of(property_id: int) -> QuerySet[CorrectiveAction]:
    """What is to be put right at a property, with its steps, the last asked first."""
    rows = CorrectiveAction.objects.filter(property_id=property_id)
    return rows.prefetch_related("steps__created_by")


def action_for(person: Person | None, pk: int) -> CorrectiveAction:
    """One corrective action of a property the person may see; otherwise Http404."""
    rows = CorrectiveAction.objects.filter(property__in=properties_for(person))
    return get_object_or_404(rows.select_related("property"), pk=pk)


def plans_of(property_id: int) -> QuerySet[ManagementPlan]:
    """Every version of the plan of a property, the newest first."""
    rows = ManagementPlan.objects.filter(property_id=property_id)
    return rows.select_related("created_by").order_by("-version")


def reviews_of(property_id: int) -> QuerySet[SiteReview]:
    """The reviews of a property, the last first."""
    return SiteReview.objects.filter(property_id=property_id)


def reviews_next() -> list[tuple[Property, date]]:
    """Every property with a plan or review, and when the next review is due.

    As the last review says, else a year after the first plan (house rule).
    """
    last = SiteReview.objects.filter(property=OuterRef("pk")).values("next_due")[:1]
    rows = Property.objects.annotate(due=Subquery(last), planned=Min("plans__written_on"))
    rows = rows.filter(Q(due__isnull=False) | Q(planned__isnull=False)).order_by("pk")
    return [(place, place.due or a_year_after(place.planned)) for place in rows]


def code_of_property(property_id: int) -> SiteCode | None:
    """The code in force in the logbook of a property."""
    return SiteCode.objects.filter(property_id=property_id, revoked_at=None).first()


def property_of_code(code: str) -> Property | None:
    """The property of a code in force, of a customer who is still one; None for every other."""
    if not code:
        return None
    rows = Property.objects.select_related("customer", "branch")
    rows = rows.filter(codes__code=code, codes__revoked_at=None)
    return rows.filter(customer__status="active").first()


@dataclass(frozen=True)
class Guest:
    """Who reads a logbook by a link, and whose property it is about."""

    link: ContactLink
    place: Property

    @property
    def branch(self) -> Branch:
        """The branch of the property, whose clock the pages show."""
        return self.place.branch


def opened_by(token: str, now: datetime) -> Guest | None:
    """The guest of a token while link and owner last; None for every other token."""
    return _guest(link_of(token, now))


def guest_of(session_value: object, now: datetime) -> Guest | None:
    """The guest of a session while link and owner last."""
    return _guest(link_of_session(session_value, now))


def _guest(link: ContactLink | None) -> Guest | None:
    """A property that went to another customer ends the link."""
    if link is None:
        return None
    rows = Property.objects.select_related("customer", "branch")
    place = rows.filter(pk=link.property_ref, customer_id=link.contact.customer_id).first()
    return Guest(link, place) if place else None


def place_of_link(person: Person | None, pk: int) -> tuple[ContactLink, Property]:
    """A link the person may see, and its property; otherwise Http404."""
    link = contact_link_for(person, pk)
    place = Property.objects.filter(pk=link.property_ref).first()
    if place is None:
        raise Http404("The property of this link is gone.")
    return link, place
