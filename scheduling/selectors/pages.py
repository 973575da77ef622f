"""What every page of the roof asks: where to land, which day it is, which page of a list."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from django.core.paginator import Page, Paginator

from accounts.permissions import Permission, allows
from scheduling.rules.day_words import local

if TYPE_CHECKING:
    from accounts.models import Person

PAGE_SIZE = 50


def landing_page(person: Person) -> str:
    """Name the first page of a person: renewals for who may see them, else the day's stops."""
    return "renewals" if allows(person, Permission.SEE_RENEWALS) else "today"


def local_day(person: Person, now: datetime) -> date:
    """The calendar day at the person's shop."""
    return local(now, person.branch.time_zone).date()


def page_of(rows: Any, number: object) -> Page[Any]:
    """One page of 50 rows; a number that is none, or too high, gives the nearest page."""
    return Paginator(rows, PAGE_SIZE).get_page(str(number or 1))
