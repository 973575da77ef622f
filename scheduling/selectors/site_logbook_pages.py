"""The logbook as a sheet of the office, with its drawing, links and open sightings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING

from django.utils.safestring import SafeString, mark_safe

from accounts.selectors.contact_links import links_about
from scheduling.rules.site_logbook import Logbook
from scheduling.selectors.site_logbook import logbook_of
from scheduling.selectors.site_logbook_lists import is_put_right
from sites.rules.trends import MonthCount
from sites.selectors.logbook import actions_of, unanswered_at
from sites.selectors.properties import property_for
from treatments.reports.bar_chart import Bar, bar_chart
from treatments.rules.desk import counted

if TYPE_CHECKING:
    from accounts.models import ContactLink, Person
    from sites.models import CorrectiveAction, Property, Sighting

SHOWN_LINKS = 20
CHART_WIDTH = 340


@dataclass(frozen=True)
class LinkRow:
    """A link as the office sees it."""

    link: ContactLink
    lasts: bool


@dataclass(frozen=True)
class OfficeLogbook:
    """The logbook and what the office does with it."""

    place: Property
    book: Logbook
    drawing: SafeString
    unanswered: Sequence[Sighting]
    open_actions: Sequence[CorrectiveAction]
    links: Sequence[LinkRow]


def office_logbook(person: Person, pk: int, now: datetime) -> OfficeLogbook:
    """The logbook of a property the person may see; otherwise Http404."""
    place = property_for(person, pk)
    book = logbook_of(place, now)
    return OfficeLogbook(
        place=place,
        book=book,
        drawing=trend_drawing(book.trend),
        unanswered=list(unanswered_at([place.pk])),
        open_actions=[one for one in actions_of(pk) if not is_put_right(list(one.steps.all()))],
        links=link_rows(person, place, now),
    )


def link_rows(person: Person, place: Property, now: datetime) -> list[LinkRow]:
    """The last links about a property; one of an owner before lasts no more."""
    rows = links_about(person, place.pk)[:SHOWN_LINKS]
    return [
        LinkRow(one, one.lasts(now) and one.contact.customer_id == place.customer_id)
        for one in rows
    ]


def trend_drawing(trend: Sequence[MonthCount]) -> SafeString:
    """Sightings by month as bars; the table beside it has the same numbers."""
    bars = [
        Bar(one.words, Fraction(one.sightings), counted(one.sightings, "sighting")) for one in trend
    ]
    # the drawing escapes every text it is given
    return mark_safe(bar_chart("Sightings by month", bars, width=CHART_WIDTH, uid="trend"))
