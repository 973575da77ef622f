"""Terms, notice and promise of an agreement: dates and the words printed for the customer."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused
from accounts.rules.day_words import short_day

RENEWAL_LEAD_DAYS = 45  # house rule: an agreement renewal is said this long before the last day
MOST_MONTHS, MOST_NOTICE_DAYS, MOST_EVERY_DAYS = 60, 365, 366
RE_SERVICE = (
    "Re-service between scheduled services is free while this agreement runs. "
    "If you see pests before the next service, call us."
)
NO_RE_SERVICE = "Re-service between scheduled services is charged as a visit of its own."
ESTIMATE = (
    "The day of the next service is our planning estimate, not a guarantee; "
    "see pests sooner? call us."
)


class PricePer(StrEnum):
    """What the price is for."""

    SERVICE = "service"
    MONTH = "month"
    TERM = "term"


PRICE_PER_WORDS: Mapping[StrEnum, str] = {
    PricePer.SERVICE: "each service",
    PricePer.MONTH: "a month",
    PricePer.TERM: "the whole term",
}


class Accepted(StrEnum):
    """How a customer accepted."""

    DRAWN = "drawn"
    TYPED = "typed"
    PAPER = "paper"
    EMAIL = "email"


ACCEPTED_WORDS: Mapping[StrEnum, str] = {
    Accepted.DRAWN: "Signature drawn on the screen",
    Accepted.TYPED: "Name typed on the screen",
    Accepted.PAPER: "Signed on paper, scan kept",
    Accepted.EMAIL: "Accepted by e-mail",
}


@dataclass(frozen=True)
class Season:
    """Two days of the year, both included, as (month, day); the second may be past New Year."""

    first: tuple[int, int]
    last: tuple[int, int]


def read_seasons(text: str) -> tuple[Season, ...]:
    """Season windows typed as "09-01 to 10-15", divided by commas.

    Refused: anything else, a day no year has; 02-29 too, which three years of four lack.
    """
    parts = [part.strip() for part in text.split(",") if part.strip()]
    return tuple(_season(part) for part in parts)


def _season(part: str) -> Season:
    first, word, last = part.partition(" to ")
    if not word:
        raise _unread(part)
    return Season(_day_of_year(first, part), _day_of_year(last, part))


def _day_of_year(text: str, part: str) -> tuple[int, int]:
    try:
        day = date.fromisoformat(f"2026-{text.strip()}")
    except ValueError:
        raise _unread(part) from None
    return day.month, day.day


def _unread(part: str) -> Refused:
    return Refused(
        "seasons",
        f'Write a season as 09-01 to 10-15, divided by commas; "{part}" cannot be read.',
        field="seasons",
    )


def add_months(day: date, months: int) -> date:
    """The same day of the month so many months later, the month's last day where it is shorter.

    Refused: a day past the last year a calendar has.
    """
    month = day.year * 12 + day.month - 1 + months
    year, month = month // 12, month % 12 + 1
    if not 1 <= year <= 9998:
        raise Refused("starts_on", f"The year {year} is no day for a term.", field="starts_on")
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def last_day_of_term(starts_on: date, months: int, term: int = 1) -> date:
    """The last day of the `term`-th term of so many months, both its ends included.

    Counted from the first day each time, so that terms neither overlap nor leave a day out and a
    term that begins on February 29 does so again in each leap year.
    """
    return add_months(starts_on, months * term) - timedelta(days=1)


def earliest_end(told_on: date, notice_days: int) -> date:
    """The last day an agreement runs when its end is told with so many days of notice."""
    return told_on + timedelta(days=notice_days)


def check_end(ends_on: date, *, starts_on: date, told_on: date, notice_days: int) -> None:
    """Refuse a last day inside the notice; one before the first day takes back the whole."""
    earliest = max(earliest_end(told_on, notice_days), starts_on)
    if ends_on < earliest:
        raise Refused(
            "ends_on",
            f"With {notice_days} days of notice from {short_day(told_on, True)} it runs until "
            f"{short_day(earliest, True)} at least. Tick that both sides agree to end it sooner.",
            field="ends_on",
        )


def is_renewal_near(ends_on: date, today: date) -> bool:
    """Whether the agreement renewal is to be spoken of."""
    return ends_on - timedelta(days=RENEWAL_LEAD_DAYS) <= today


@dataclass(frozen=True)
class Terms:
    """What an agreement says: days, months, whole days of notice, dollars."""

    starts_on: date
    months: int
    renews: bool
    notice_days: int
    re_service: bool
    price: Decimal
    price_per: str

    @property
    def ends_on(self) -> date:
        return last_day_of_term(self.starts_on, self.months)


def check_terms(terms: Terms) -> None:
    """Refuse terms nobody can keep, each with its sentence."""
    _within("months", terms.months, 1, MOST_MONTHS, "A term has 1 to 60 months.")
    said = "Notice is 0 to 365 days."
    _within("notice_days", terms.notice_days, 0, MOST_NOTICE_DAYS, said)
    if not 0 < terms.price < 1_000_000 or terms.price != terms.price.quantize(Decimal("0.01")):
        sentence = "Write a price above 0 and below 1,000,000, in dollars and cents."
        raise Refused("price", sentence, field="price")
    if terms.price_per not in set(PricePer):
        raise Refused("price_per", "Choose what the price is for.", field="price_per")
    add_months(terms.starts_on, terms.months)


def _within(field: str, value: int, least: int, most: int, sentence: str) -> None:
    if not least <= value <= most:
        raise Refused(field, sentence, field=field)


def term_words(terms: Terms) -> str:
    """The term in words, with what happens after it."""
    first, last = short_day(terms.starts_on, True), short_day(terms.ends_on, True)
    after = (
        f"It goes on for terms of the same length unless one side ends it "
        f"{terms.notice_days} days ahead."
        if terms.renews
        else "It then ends unless both sides agree on an agreement renewal."
    )
    return f"{first} through {last} ({terms.months} months). {after}"


def cancel_words(terms: Terms) -> str:
    """How either side may end it."""
    if not terms.notice_days:
        return "Either side may end it on any day, in writing."
    return f"Either side may end it in writing with {terms.notice_days} days of notice."


def price_words(price: Decimal, per: str) -> str:
    """A price as printed, "$120.00, each service"."""
    return f"${price:,.2f}, {PRICE_PER_WORDS[PricePer(per)]}"


def rhythm_words(*, by_residual: bool, every_days: int | None, seasons: str) -> str:
    """When we come, in the customer's words; the residual line is for the firm."""
    parts = ["when the treatment's planned time is nearly over"] if by_residual else []
    if every_days:
        parts.append(f"every {every_days} days")
    parts += [
        f"between {_day_words(one.first)} and {_day_words(one.last)}"
        for one in read_seasons(seasons)
    ]
    return "We come " + ", and ".join(parts) + "."


def _day_words(day: tuple[int, int]) -> str:
    return short_day(date(2026, *day))


def check_rhythm(*, by_residual: bool, every_days: int | None, seasons: str) -> None:
    """Refuse a program without a rhythm, an interval nobody can keep, an unread season."""
    if every_days is not None:
        said = "A fixed interval is 7 to 366 days."
        _within("every_days", every_days, 7, MOST_EVERY_DAYS, said)
    if not (by_residual or every_days or read_seasons(seasons)):
        sentence = "Say when one comes: by the residual, every so many days, or in a season."
        raise Refused("rhythm", sentence, field="by_residual")


def term_after(starts_on: date, months: int, today: date) -> date:
    """The last day of the term that holds `today`, or of the first one when it lies ahead."""
    term = 1
    while (last := last_day_of_term(starts_on, months, term)) < today:
        term += 1
    return last
