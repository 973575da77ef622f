"""Is it on the label: place, method, pest, label version."""

from __future__ import annotations

from dataclasses import replace

from accounts.rules.day_words import short_day
from sites.rules.places import PLACE_WORDS, Place
from treatments.rules.label_checks.decisions import decided
from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse
from treatments.rules.products import METHOD_WORDS, Method, Severity

DECIDES = "The certified applicator decides and signs before mixing."


def place(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A use site that the direction does not name is refused, whatever the role."""
    found = []
    for one in dict.fromkeys(zone.place for zone in use.zones):
        if one in facts.places:
            sentence = f"{PLACE_WORDS[one]} is on this direction."
            found.append(Judgement("place", Severity.NOTE, sentence, facts.clause))
        else:
            found.append(_no_place(one, facts, use))
    return found


def _no_place(one: Place, facts: LabelFacts, use: ProposedUse) -> Judgement:
    zones = ", ".join(zone.name for zone in use.zones if zone.place == one)
    allowed = ", ".join(PLACE_WORDS[p].lower() for p in Place if p in facts.places) or "no place"
    return Judgement(
        "place",
        Severity.REFUSE,
        f"{PLACE_WORDS[one]} is not on this direction; it is for {allowed}.",
        facts.clause,
        f"Leave out {zones}, or choose a direction that names it.",
    )


def method(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Prohibited is refused; not mentioned is refused only where the label says "only these"."""
    word = METHOD_WORDS[use.method]
    if use.method in facts.prohibited_methods:
        return [_other_method(facts, Severity.REFUSE, f"{word} is prohibited by this label.")]
    if use.method in facts.methods:
        return [Judgement("method", Severity.NOTE, f"{word} is on this direction.", facts.clause)]
    sentence = f"{word} is not mentioned in this direction."
    if facts.only_these:
        return [_other_method(facts, Severity.REFUSE, sentence)]
    if use.allows_unlisted_method == Severity.REFUSE:
        judged = _other_method(facts, Severity.REFUSE, sentence)
        return [_by_rule(judged, use.unlisted_method_clause)]
    silent = Judgement("method", Severity.WARN, sentence, facts.clause, DECIDES)
    return [decided(silent, facts, use)]


def _other_method(facts: LabelFacts, severity: Severity, sentence: str) -> Judgement:
    allowed = " or ".join(METHOD_WORDS[m].lower() for m in Method if m in facts.methods)
    to_do = f"Choose {allowed}." if allowed else "Choose another direction."
    return Judgement("method", severity, sentence, facts.clause, to_do)


def pest(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A pest the label does not name: the label or the state's profile decides."""
    named = {name.casefold() for name in facts.pests}
    found = []
    for name, group in use.pests.items():
        if name.casefold() in named or group in facts.pest_groups:
            sentence = f"{name} is on this direction."
            found.append(Judgement("pest", Severity.NOTE, sentence, facts.clause))
        else:
            found.append(_no_pest(name, facts, use))
    return found


def _no_pest(name: str, facts: LabelFacts, use: ProposedUse) -> Judgement:
    sentence = f"{name} is not named in this direction."
    if facts.only_these or use.allows_unlisted_pest == Severity.REFUSE:
        to_do = "Choose a direction or product that names it."
        refused = Judgement("pest", Severity.REFUSE, sentence, facts.clause, to_do)
        return refused if facts.only_these else _by_rule(refused, use.unlisted_pest_clause)
    return decided(Judgement("pest", Severity.WARN, sentence, facts.clause, DECIDES), facts, use)


def _by_rule(refused: Judgement, rule: str) -> Judgement:
    """The refusal that is the state's, not the label's: it names the rule beside the label."""
    if not rule:
        return refused
    sentence = f"{refused.sentence} A rule here forbids what a label does not name."
    return replace(refused, sentence=sentence, clause=f"{refused.clause}; {rule}")


def version(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A lot is judged by its own label until that label is withdrawn."""
    if facts.effective_on is not None and use.on < facts.effective_on:
        sentence = f"This label begins on {short_day(facts.effective_on, True)}."
        to_do = "Take the label that came with this lot, or another lot."
        return [Judgement("version", Severity.REFUSE, sentence, facts.clause, to_do)]
    last = facts.not_to_be_used_after
    if last is not None and use.on > last:
        reason = f": {facts.withdrawn_because.rstrip('.')}" if facts.withdrawn_because else ""
        sentence = f"This label is withdrawn, not to be used after {short_day(last, True)}{reason}."
        to_do = f"{_another_lot(use)} Return or dispose of what carries this label."
        return [Judgement("version", Severity.REFUSE, sentence, facts.clause, to_do)]
    return []


def _another_lot(use: ProposedUse) -> str:
    """The lots on the truck under another label that has not ended, else another one."""
    good = [one for one in use.lots if not one.is_of_this_label and one.is_good(use.on)]
    named = " or ".join(f"lot {one.number} ({one.label})" for one in good)
    if named:
        return f"Take {named} from your truck, by a direction of its own label."
    return "Take a lot whose label is in force, by a direction of that label, or another product."


def verified(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A label that no second person compared with the paper warns; it never stops anybody."""
    if facts.is_verified:
        return []
    sentence = "Nobody but who entered this label has compared it with the printed one."
    to_do = "Read the printed label; a manager verifies the entry."
    return [Judgement("unverified", Severity.WARN, sentence, facts.clause, to_do)]
