"""A tank mixed once and used at several stops: what is in it, what is left, who may use it.

Product on a record is the volume put out times the strength of the load; uses, what is left over
and what was disposed of make up the load. The percentages are house rules, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from accounts.rules.day_words import clock, short_day
from sites.rules.branch_units import US, spray_of
from sites.rules.units import (
    MOST_DECIMALS,
    canonical,
    from_canonical,
    kind_of,
    plain,
)
from treatments.rules.label_checks import Judgement, LabelFacts, ProposedUse, ZoneUse, directions
from treatments.rules.products import Severity

TOLERANCE_PERCENT = 2  # how far uses and rest may be from the load (house rule)
CLAUSE = "Loads, house rule: 2 % of the load"
ON_THE_LABEL = ("place", "method", "pest")
STOPS = (Severity.REFUSE, Severity.VIOLATION)
# six decimals of a gallon or a kilogram are coarser than a microliter or a milligram
FINE_UNITS: Mapping[str, str] = {"volume": "mL", "mass": "g"}


class RestKind(StrEnum):
    """What was done with what was left in the tank."""

    NONE = "none"
    KEPT = "kept"
    RINSATE = "rinsate"
    DISPOSED = "disposed"


REST_WORDS: Mapping[StrEnum, str] = {
    RestKind.NONE: "Nothing is left",
    RestKind.KEPT: "Kept for the next stop",
    RestKind.RINSATE: "Into the rinsate container",
    RestKind.DISPOSED: "Disposed of",
}
GONE = (RestKind.RINSATE, RestKind.DISPOSED)
ENDS = (RestKind.NONE, *GONE)


@dataclass(frozen=True)
class Mixture:
    """So many whole uL or mg of undiluted product in so many uL of finished spray."""

    product: int
    finished_ul: int

    def product_in(self, put_out_ul: int) -> int:
        """Undiluted product in a volume of this load, whole canonical units, half to even."""
        return half_even(put_out_ul * self.product, self.finished_ul)


@dataclass(frozen=True)
class OnBoard:
    """What is known of a load when a stop wants to use it; times are on the local clock.

    `hours` is how long the label allows the mixed load to be used; None where it does not say.
    `warned_hours` is said by a row of the label that warns only, and ends nothing; `label_until`
    is the last day of a label that is withdrawn, `withdrawn_because` why.
    """

    product: str
    label: str
    label_version_id: int
    mixed_at: datetime
    hours: Decimal | None
    is_ended: bool = False
    warned_hours: Decimal | None = None
    label_until: date | None = None
    withdrawn_because: str = ""

    @property
    def use_by(self) -> datetime | None:
        """The last moment the label allows the load to be used."""
        if self.hours is None:
            return None
        # hours pass in UTC: a clock that is set back gives no hour of use
        last = self.mixed_at.astimezone(UTC) + hours_of(self.hours)
        return last.astimezone(self.mixed_at.tzinfo)

    def is_over(self, at: datetime) -> bool:
        """Whether the time to use is over; the last moment itself still counts."""
        return self.use_by is not None and at.astimezone(UTC) > self.use_by.astimezone(UTC)

    def is_withdrawn(self, at: datetime) -> bool:
        """Whether the last day of its label is over; that day itself still counts."""
        on = at.astimezone(self.mixed_at.tzinfo).date()
        return self.label_until is not None and on > self.label_until


def half_even(numerator: int, denominator: int) -> int:
    """A quotient of whole numbers above zero, rounded half to even without a fraction of a bit."""
    whole, rest = divmod(numerator, denominator)
    return whole + (2 * rest > denominator or (2 * rest == denominator and whole % 2 == 1))


def hours_of(hours: Decimal) -> timedelta:
    """Hours as a span, to the second."""
    return timedelta(seconds=int(hours * 3600))


def left_ul(load_ul: int, put_out: Iterable[int], gone: Iterable[int] = ()) -> int:
    """What is left of a load; below zero when more was put out than was mixed."""
    return load_ul - sum(put_out) - sum(gone)


def is_balanced(difference_ul: int, load_ul: int) -> bool:
    """Whether a difference is within 2 % of the load; compared by multiplying."""
    return abs(difference_ul) * 100 <= load_ul * TOLERANCE_PERCENT


def entered_text(quantity: int, unit: str) -> tuple[str, str]:
    """A computed quantity as the shortest text and unit that give the same whole number again.

    In the load's own unit where six decimals are enough, else in mL or g.
    """
    for one in (unit, FINE_UNITS[kind_of(unit)]):
        value = from_canonical(quantity, one)
        texts = (plain(Decimal(f"{value:.{places}f}")) for places in range(MOST_DECIMALS + 1))
        found = next((text for text in texts if canonical(Decimal(text), one) == quantity), "")
        if found:
            return found, one
    raise ValueError(f"{unit} is no unit of stock")


def why_not(
    load: OnBoard,
    label_version_id: int,
    started: datetime,
    finished: datetime,
    judged: Iterable[Judgement],
) -> str:
    """Why a stop may not use a load, in a sentence that says what to do; empty when it may.

    `judged` is what the label said of the use: a place, method or pest it forbids stops the load
    as it would stop the product.
    """
    if load.is_ended:
        return "This load is empty or was disposed of. Choose another one, or mix one."
    if load.label_version_id != label_version_id:
        return (
            f"This load is {load.label}; the direction you chose is of another label. Choose a "
            "direction of that label, or mix another load."
        )
    if finished < load.mixed_at.replace(second=0, microsecond=0):
        return (
            f"This load was mixed at {moment(load.mixed_at)}, after this work. Put the true times."
        )
    if load.is_over(started):
        return (
            f"The time to use this load was over at {moment(load.use_by or started)}: the label "
            f"allows {plain(load.hours or Decimal(0))} hours. Dispose of the rest and mix another."
        )
    forbidden = [one for one in judged if one.code in ON_THE_LABEL and one.severity in STOPS]
    if forbidden:
        said = forbidden[0].sentence
        return f"This load may not be used here. {said} Keep it for another stop."
    return ""


def zones_allowed(facts: LabelFacts, use: ProposedUse) -> tuple[ZoneUse, ...]:
    """The zones of a stop where a direction may be used by place, method and pest; else none."""
    judged = (*directions.method(facts, use), *directions.pest(facts, use))
    if any(one.severity in STOPS for one in judged):
        return ()
    return tuple(zone for zone in use.zones if zone.place in facts.places)


def judge_use(
    load: OnBoard,
    load_ul: int,
    left_before_ul: int,
    put_out_ul: int,
    finished: datetime,
    system: str = US,
) -> tuple[Judgement, ...]:
    """What a record says of its load: more put out than was left, or put out too late.

    What was done is recorded; a load is never below zero without a judgement.
    """
    missing = put_out_ul - max(left_before_ul, 0)
    found = [] if missing <= 0 else [_short(load_ul, left_before_ul, put_out_ul, system)]
    if load.is_over(finished) and load.use_by is not None:
        sentence = f"The time to use the load was over at {moment(load.use_by)}, before the end."
        found.append(Judgement("load_time", Severity.VIOLATION, sentence, load.label))
    return tuple(found)


def _short(load_ul: int, left_before_ul: int, put_out_ul: int, system: str) -> Judgement:
    had = max(left_before_ul, 0)
    words = f"{spray_of(put_out_ul, system)} was put out of a load with {spray_of(had, system)}"
    if is_balanced(put_out_ul - had, load_ul):
        return Judgement("load", Severity.NOTE, f"{words} left, within 2 % of the load", CLAUSE)
    to_do = "Check the volumes of this load's records; the manager looks at it."
    return Judgement("load", Severity.WARN, f"{words} left.", CLAUSE, to_do)


def judge_rest(load_ul: int, expected_ul: int, found_ul: int, system: str = US) -> Judgement | None:
    """A judgement when uses, rest and what was disposed of are over 2 % from the load."""
    difference = found_ul - expected_ul
    if is_balanced(difference, load_ul):
        return None
    word = "more" if difference > 0 else "less"
    return Judgement(
        "load_rest",
        Severity.WARN,
        f"{spray_of(found_ul, system)} was left, {spray_of(abs(difference), system)} {word} than "
        f"the {spray_of(max(expected_ul, 0), system)} that the records of this load leave.",
        CLAUSE,
        "Check the volumes of its records, and whether a use was not recorded.",
    )


def moment(at: datetime) -> str:
    """A moment on the local clock: 9:10 AM on Nov 25."""
    return f"{clock(at)} on {short_day(at.date())}"


def time_left(load: OnBoard, now: datetime) -> str:
    """How long a load may be used: use by 4:10 PM, 2 h 10 min left; not at all once withdrawn."""
    if load.is_withdrawn(now) and load.label_until is not None:
        last, why = short_day(load.label_until, True), load.withdrawn_because.rstrip(".")
        return f"not to be used after {last}: {why}. Put none of it out; dispose of the rest"
    if load.use_by is None:
        return _warned_time(load)
    if load.is_over(now):
        return f"time to use it is over since {moment(load.use_by)}"
    minutes = int((load.use_by - now).total_seconds()) // 60
    return f"use by {moment(load.use_by)}, {minutes // 60} h {minutes % 60} min left"


def _warned_time(load: OnBoard) -> str:
    """The hours of a row that warns only; nothing is counted down by it."""
    if load.warned_hours is None:
        return "the label gives no time to use it"
    last = replace(load, hours=load.warned_hours).use_by or load.mixed_at
    hours = plain(load.warned_hours)
    return f"the label says {hours} hours, until {moment(last)}, in a row that only warns"
