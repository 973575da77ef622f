"""The reports of what was used: which period each is about, by what it counts, who asks for it."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from accounts.rules.day_words import MONTHS, short_day
from treatments.rules.totals import AXIS_WORDS, PERIODS, Axis


class Report(StrEnum):
    """The totals page and the three papers made from it."""

    TOTALS = "totals"
    ANNUAL = "annual"
    COUNTY = "county"
    MASS = "mass"


TITLES: dict[Report, str] = {
    Report.TOTALS: "Totals of what was used",
    Report.ANNUAL: "Annual report by registration number and ZIP",
    Report.COUNTY: "Monthly summary by county",
    Report.MASS: "Annual mass of product",
}
FIXED_AXES: dict[Report, tuple[Axis, ...]] = {
    Report.ANNUAL: (Axis.ZIP, Axis.COUNTY),
    Report.COUNTY: (Axis.COUNTY,),
    Report.MASS: (),
}
# who asks for it, and how far that was read
ASKED_BY: dict[Report, str] = {
    Report.TOTALS: "",
    Report.ANNUAL: "New York asks for such a report by Feb 1 (ECL 33-1205, read; the rule, "
    "6 NYCRR 325.25, says Jan 15), by registration number and with the five-digit ZIP. Send the "
    "agency's own form; this is what goes into it.",
    Report.COUNTY: "California asks for a monthly summary by the 10th of the next month (read in "
    "an agency manual for one kind of business; 3 CCR 6627 itself from memory, unverified).",
    Report.MASS: "British Columbia asks for product as it leaves the container, in kg, by Jan 31, "
    "also when nothing was used (agency page, read); there 1 L may count as 1 kg.",
}


@dataclass(frozen=True)
class Period:
    """First and last day of a report, and its name in words."""

    since: date
    until: date
    word: str


def year_of(year: int) -> Period:
    """A calendar year."""
    return Period(date(year, 1, 1), date(year, 12, 31), str(year))


def month_of(year: int, month: int) -> Period:
    """A calendar month."""
    last = monthrange(year, month)[1]
    return Period(date(year, month, 1), date(year, month, last), f"{MONTHS[month - 1]} {year}")


def days_of(since: date, until: date) -> Period:
    """Any days, both inside."""
    return Period(since, until, f"{short_day(since, True)} to {short_day(until, True)}")


def month_before(today: date) -> tuple[int, int]:
    """Year and month of the last month that is over."""
    return (today.year, today.month - 1) if today.month > 1 else (today.year - 1, 12)


def report_year(today: date) -> int:
    """The year a report is usually about: in January the one that is over."""
    return today.year - 1 if today.month == 1 else today.year


def chosen_axes(period: str, by: str) -> tuple[Axis, ...]:
    """The axes of the totals page: a period and one more, each or neither."""
    return tuple(Axis(one) for one in (period, by) if one)


PERIOD_CHOICES = [(axis.value, AXIS_WORDS[axis]) for axis in PERIODS]
BY_CHOICES = [(axis.value, AXIS_WORDS[axis]) for axis in Axis if axis not in PERIODS]
