"""Is it a species one treats at all, and is the container still in date: house rules, they warn."""

from __future__ import annotations

from accounts.rules.day_words import short_day
from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse
from treatments.rules.products import Severity

SPECIES_CLAUSE = "House rule: beneficial species are left alone, some are referred"
LOT_CLAUSE = "House rule: a lot is used before it is out of date"


def species(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A beneficial species is left alone; one that somebody else cares for is referred."""
    alone = [
        _species(f"{name} is beneficial.", "Leave it alone, or vacuum and seal.")
        for name in use.pests
        if name in use.beneficial
    ]
    referred = [
        _species(f"{name} is referred to a specialist.", "Call the office before you do anything.")
        for name in use.pests
        if name in use.referred
    ]
    return alone + referred


def _species(sentence: str, to_do: str) -> Judgement:
    return Judgement("species", Severity.WARN, sentence, SPECIES_CLAUSE, to_do)


def out_of_date(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Lots of this label on the technician's truck; the last day in date still passes."""
    to_do = "Take another lot, and tell the office about this one."
    return [
        Judgement(
            "out_of_date",
            Severity.WARN,
            f"Lot {lot} on your truck was in date until {short_day(last, True)}.",
            LOT_CLAUSE,
            to_do,
        )
        for lot, last in use.lots
        if last is not None and use.on > last
    ]
