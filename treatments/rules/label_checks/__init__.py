"""The label's answer to a proposed or a finished use (DEVELOPERS.md, "Refuse or warn")."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from treatments.rules.label_checks import (
    amounts,
    directions,
    equipment,
    history,
    limits,
    people,
    pollinators,
    resistance,
    safety,
    species,
)
from treatments.rules.label_checks.facts import (
    Check,
    Conditions,
    Decision,
    EarlierUse,
    HardPreference,
    IngredientUse,
    Judgement,
    LabelFacts,
    LabelLimit,
    License,
    ProposedUse,
    VisitUse,
    ZoneUse,
)
from treatments.rules.label_checks.lots import lots
from treatments.rules.products import Severity

CHECKS: tuple[Check, ...] = (
    directions.version,
    directions.verified,
    lots,
    directions.place,
    directions.method,
    directions.pest,
    amounts.rate,
    amounts.finished_volume,
    history.interval,
    history.uses,
    history.ingredient,
    history.product,
    history.known_since,
    limits.limits,
    people.license_in_force,
    people.category,
    people.restricted_use,
    equipment.respirator,
    people.preferences,
    safety.fogging,
    safety.wall_void,
    safety.answers,
    resistance.resistance,
    resistance.bait,
    pollinators.keepers,
    species.species,
)
ORDER = tuple(Severity)


def check(facts: LabelFacts, use: ProposedUse, *, before_mixing: bool) -> tuple[Judgement, ...]:
    """Every clause's answer, what stops first, what passed last.

    After the fact a refusal is a violation: the work is recorded and marked, never refused.
    """
    found = [judgement for clause in CHECKS for judgement in clause(facts, use)]
    if before_mixing:
        found = [judgement for judgement in found if judgement.code not in safety.AFTERWARDS]
    else:
        found = [_afterwards(judgement) for judgement in found]
    return tuple(sorted(found, key=lambda judgement: ORDER.index(judgement.severity)))


def _afterwards(judgement: Judgement) -> Judgement:
    """Unknown history is a question before mixing; afterwards nobody can answer it any more."""
    if judgement.code == "history":
        return replace(judgement, severity=Severity.NOTE, to_do="")
    if judgement.severity != Severity.REFUSE:
        return judgement
    to_do = "Leave the record as it was done; write what happened in the note."
    return replace(judgement, severity=Severity.VIOLATION, to_do=to_do)


def allowed(judgements: Iterable[Judgement]) -> bool:
    """Nothing refused and nothing violated; warnings do not stop anybody."""
    stops = {Severity.REFUSE, Severity.VIOLATION}
    return not any(judgement.severity in stops for judgement in judgements)


__all__ = [
    "CHECKS",
    "Conditions",
    "Decision",
    "EarlierUse",
    "HardPreference",
    "IngredientUse",
    "Judgement",
    "LabelFacts",
    "LabelLimit",
    "License",
    "ProposedUse",
    "VisitUse",
    "ZoneUse",
    "allowed",
    "check",
]
