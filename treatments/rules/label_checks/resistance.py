"""Is it the same group again, and does a repellent spray spoil bait: house rules, they warn."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from accounts.rules.day_words import short_day
from sites.rules.places import PestGroup
from sites.rules.units import plain
from treatments.rules.label_checks.facts import (
    EarlierUse,
    Judgement,
    LabelFacts,
    LabelLimit,
    ProposedUse,
)
from treatments.rules.products import Formulation, LimitFact, Method, Severity

RESISTANCE_CLAUSE = "House rule: not one IRAC group twice in a row"
BAIT_CLAUSE = "House rule: no repellent spray on or beside bait"
BAIT_DAYS = 14  # common practice, no source
REPELLENT = frozenset({"3A"})  # pyrethroids and pyrethrins (common practice, no source)
BAITS = frozenset({Formulation.BAIT, Formulation.GEL})
# pests that breed indoors all year, so that what survives stays (common practice, no source)
BREEDING_GROUPS = frozenset({PestGroup.COCKROACHES})
BREEDING = frozenset(
    {"bed bug", "drain fly", "fruit fly", "indianmeal moth", "pharaoh ant", "phorid fly"}
)


def resistance(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """The group used last against a pest in these zones, again: warns where it breeds indoors.

    What the label itself says of rotation stands with it, with its page; it is said by itself
    where nothing was used before.
    """
    row = next((one for one in facts.limits if one.fact == LimitFact.ROTATION), None)
    found = _used_again(use)
    if row is None:
        return found
    clause, says = row.clause or facts.clause, f"The label: {row.sentence}"
    if not found:
        return [Judgement("resistance", Severity.NOTE, f"{_held(use)}{says}", clause)]
    return [replace(one, sentence=f"{one.sentence} {says}", clause=clause) for one in found]


def _held(use: ProposedUse) -> str:
    named = ", ".join(_named(one, use) for one in sorted(use.irac_groups))
    return f"IRAC group {named}. " if named else ""


def _named(group: str, use: ProposedUse) -> str:
    """3A (scheme 11.3); the scheme is versioned, and a group means what its version says."""
    scheme = use.irac_schemes.get(group, "")
    return f"{group} (scheme {scheme})" if scheme else group


def _used_again(use: ProposedUse) -> list[Judgement]:
    found = []
    for name, pest_group in use.pests.items():
        against = [one for one in use.earlier if one.is_here and name in one.pests]
        last = max((one.on for one in against), default=None)
        groups = frozenset[str]().union(*(one.irac_groups for one in against if one.on == last))
        if last is not None and groups & use.irac_groups:
            named = ", ".join(_named(one, use) for one in sorted(groups & use.irac_groups))
            said = f"{named} was used last against {name}"
            found.append(_again(f"{said} here, {short_day(last, True)}", name, pest_group))
    return found


def _again(said: str, name: str, pest_group: PestGroup) -> Judgement:
    sentence = f"IRAC group {said}"
    if pest_group not in BREEDING_GROUPS and name.casefold() not in BREEDING:
        return Judgement("resistance", Severity.NOTE, sentence, RESISTANCE_CLAUSE)
    to_do = "Choose a product of another group, bait or traps."
    return Judgement("resistance", Severity.WARN, f"{sentence}.", RESISTANCE_CLAUSE, to_do)


def bait(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Repellent spray on or beside bait within N days, whichever of the two comes second.

    N is the label's, else the house's; only a row of the label, for the zones themselves, can
    do more than warn. Granules and dust count as spray.
    """
    row = next((one for one in facts.limits if one.fact == LimitFact.BAIT_DAYS), None)
    days = Decimal(BAIT_DAYS) if row is None or row.limit is None else row.limit
    is_bait = use.method == Method.BAIT or facts.formulation in BAITS
    if not is_bait and REPELLENT.isdisjoint(use.irac_groups):
        return []
    near = [
        one
        for one in use.earlier
        if _spoils(one, is_bait=is_bait) and 0 <= (use.on - one.on).days < days
    ]
    if not near:
        return []
    return [_spoiled(max(near, key=lambda one: (one.is_here, one.on)), days, row, facts)]


def _spoils(one: EarlierUse, *, is_bait: bool) -> bool:
    return not REPELLENT.isdisjoint(one.irac_groups) and not one.is_bait if is_bait else one.is_bait


def _spoiled(
    one: EarlierUse, days: Decimal, row: LabelLimit | None, facts: LabelFacts
) -> Judgement:
    what = "Bait was placed" if one.is_bait else "A repellent product was put"
    where = "in these zones" if one.is_here else "elsewhere at this property"
    sentence = f"{what} {where} on {short_day(one.on, True)}; keep {plain(days)} days between them."
    to_do = "Keep the two apart, or choose a product that does not repel."
    if row is None:
        return Judgement("bait", Severity.WARN, sentence, BAIT_CLAUSE, to_do)
    severity = row.severity if one.is_here else Severity.WARN
    return Judgement("bait", severity, sentence, row.clause or facts.clause, to_do)
