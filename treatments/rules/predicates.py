"""Conditions as text rows: a small closed set, combined by all, any and not.

A predicate is one of `Fact`, or a comparison with a whole number: what a profile says can be
stored, printed and compared, and nothing in it runs.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Any

from accounts.refusals import Refused

Condition = str | dict[str, Any]
DEEPEST = 5
COMPARED = re.compile(r"(max_distance_from_structure_ft<=|units>=)(\d{1,4})")


class Fact(StrEnum):
    """What may be asked about a job; the closed set."""

    IS_RUP = "is_rup"
    REGISTERED = "registered"
    DILUTED = "diluted"
    LABEL_RATE_PER_AREA = "label_rate_per_area"
    LABEL_HAS_REENTRY_INTERVAL = "label_has_reentry_interval"
    BAIT_STATION = "bait_station"
    DEVICE = "device"
    OUTDOOR = "outdoor"
    IN_STRUCTURE = "in_structure"
    ADJACENT_TO_STRUCTURE = "adjacent_to_structure"
    APPLICATOR_NONCERTIFIED = "applicator_noncertified"
    WDO_WORK = "wdo_work"
    FUMIGATION = "fumigation"
    WORKPLACE = "workplace"
    SCHOOL_SITE = "school_site"
    AGRICULTURAL = "agricultural"
    CUSTOMER_REQUESTED = "customer_requested"
    DEVIATION = "deviation"
    BEYOND_LABEL_BAND = "beyond_label_band"


FACT_WORDS: Mapping[Fact, str] = {
    Fact.IS_RUP: "the product is restricted use",
    Fact.REGISTERED: "the product has a registration",
    Fact.DILUTED: "the product is mixed",
    Fact.LABEL_RATE_PER_AREA: "the label states a rate per area",
    Fact.LABEL_HAS_REENTRY_INTERVAL: "the label has a re-entry interval",
    Fact.BAIT_STATION: "it is bait in stations",
    Fact.DEVICE: "it is a device",
    Fact.OUTDOOR: "it is outdoors",
    Fact.IN_STRUCTURE: "it is all inside a structure",
    Fact.ADJACENT_TO_STRUCTURE: "it is all right at a structure",
    Fact.APPLICATOR_NONCERTIFIED: "the applicator is not certified",
    Fact.WDO_WORK: "it is work on wood-destroying organisms",
    Fact.FUMIGATION: "it is a fumigation",
    Fact.WORKPLACE: "it is a workplace",
    Fact.SCHOOL_SITE: "it is a school",
    Fact.AGRICULTURAL: "it is agricultural",
    Fact.CUSTOMER_REQUESTED: "the customer asks for it",
    Fact.DEVIATION: "the treatment standard was not followed",
    Fact.BEYOND_LABEL_BAND: "ground beyond the label's perimeter band is treated",
}


@dataclass(frozen=True)
class Job:
    """What is known of one job; a fact that is not there is not known.

    `distance_ft` is the farthest treated place from a structure, in feet; `units` how many units
    the property has; None where not known.
    """

    facts: Mapping[Fact, bool] = field(default_factory=dict)
    distance_ft: Decimal | None = None
    units: int | None = None


def holds(condition: Condition, job: Job) -> bool | None:
    """Whether a condition holds of a job; None where that hangs on something not known.

    Three values as Kleene counts them: one false makes `all` false whatever is unknown.
    """
    if isinstance(condition, str):
        return _single(condition, job)
    (word, inner), *_ = condition.items()
    if word == "not":
        answer = holds(inner, job)
        return None if answer is None else not answer
    answers = [holds(one, job) for one in inner]
    decisive = word == "any"
    if decisive in answers:
        return decisive
    return None if None in answers else not decisive


def _single(name: str, job: Job) -> bool | None:
    compared = COMPARED.fullmatch(name)
    if compared is None:
        return job.facts.get(Fact(name))
    bound = int(compared[2])
    if compared[1].startswith("units"):
        return None if job.units is None else job.units >= bound
    return None if job.distance_ft is None else job.distance_ft <= bound


# asked for every condition of every rule at every record
FACTS = frozenset(Fact)


def refuse_condition(condition: object, depth: int = 0) -> None:
    """Refuse what is no condition of the closed set, or is nested too deep to be read."""
    if depth > DEEPEST:
        raise Refused("condition", "The condition is nested too deep. Write it simpler.")
    if isinstance(condition, str):
        if condition not in FACTS and not COMPARED.fullmatch(condition):
            raise Refused("condition", f"{condition[:40]!r} is not a condition of the list.")
        return
    word, inner = _combined(condition)
    for one in [inner] if word == "not" else inner:
        refuse_condition(one, depth + 1)


def _combined(condition: object) -> tuple[str, Any]:
    if isinstance(condition, dict) and len(condition) == 1:
        (word, inner), *_ = condition.items()
        if word == "not" or (word in ("all", "any") and isinstance(inner, list)):
            return word, inner
    raise Refused("condition", 'A condition is a word, or {"all": []}, {"any": []}, {"not": …}.')


def condition_words(condition: Condition) -> str:
    """A condition as a phrase after "where": the product is restricted use, and not (…)."""
    if isinstance(condition, str):
        return _single_words(condition)
    (word, inner), *_ = condition.items()
    if word == "not":
        return f"not ({condition_words(inner)})"
    return _joined([condition_words(one) for one in inner], "and" if word == "all" else "or")


def _single_words(name: str) -> str:
    compared = COMPARED.fullmatch(name)
    if compared is None:
        return FACT_WORDS[Fact(name)]
    if compared[1].startswith("units"):
        return f"the property has {compared[2]} units or more"
    return f"it is all within {compared[2]} ft of a structure"


def _joined(parts: Sequence[str], word: str) -> str:
    if not parts:
        return "always" if word == "and" else "never"
    return f", {word} ".join(parts)
