"""Who may do it, and what the customer said."""

from __future__ import annotations

from accounts.rules.day_words import short_day
from accounts.rules.training import Qualified, newest, qualified
from sites.rules.places import INSIDE, PreferenceKind
from treatments.rules.label_checks.facts import (
    HardPreference,
    Judgement,
    LabelFacts,
    LabelLimit,
    License,
    ProposedUse,
)
from treatments.rules.license_categories import listed_words, lists_one_of, wanted_words
from treatments.rules.products import LicenseKind, LimitFact, Method, Severity

LICENSE_CLAUSE = "License on the day"
RESTRICTED_CLAUSE = "40 CFR 171.201, restricted use"
TRAINING_CLAUSE = "40 CFR 171.201, qualification record"
CUSTOMER_CLAUSE = "The customer's own wish"
ANOTHER = "Call the office: another technician can take this stop."


def license_in_force(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """There is a license, for the property's state, in force on the day."""
    held = use.license
    if held is None:
        return [_license("No license is on file for you.")]
    wrong = not_in_force(held, use, "Your license")
    if wrong:
        return [_license(wrong)]
    sentence = f"License {held.number} {held.state} in force through {_day(held)}"
    return [Judgement("license", Severity.NOTE, sentence, LICENSE_CLAUSE)]


def category(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A certified license lists a category of the work, and what a row of the label names.

    Who is not certified has no category of their own: the supervisor's counts.
    """
    held = use.license
    if held is None or held.kind != LicenseKind.CERTIFIED:
        return []
    return [*_category(held, use), *_label_categories(held, facts)]


def _category(held: License, use: ProposedUse) -> list[Judgement]:
    # which category a job needs is a state's own list, not verified: it warns
    if not use.categories:
        return []
    if lists_one_of(held.categories, use.categories, held.state):
        said = f"Your license lists a category of this work: {listed_words(held.categories)}"
        return [Judgement("category", Severity.NOTE, said, use.category_clause)]
    sentence = f"Your license is not known to list {wanted_words(use.categories)}"
    sentence = f"{sentence}: {listed_words(held.categories)}."
    to_do = "Ask the certified applicator in charge before mixing."
    return [Judgement("category", Severity.WARN, sentence, use.category_clause, to_do)]


def _label_categories(held: License, facts: LabelFacts) -> list[Judgement]:
    """The label itself may keep a product to a category: a typed row, with its page."""
    rows = [row for row in facts.limits if row.fact == LimitFact.LICENSE_CATEGORY]
    return [_label_category(row, held, facts) for row in rows]


def _label_category(row: LabelLimit, held: License, facts: LabelFacts) -> Judgement:
    clause = row.clause or facts.clause
    if lists_one_of(held.categories, {row.named}, held.state):
        said = f"Your license lists category {row.named}, as the label asks"
        return Judgement("label_category", Severity.NOTE, said, clause)
    sentence = f"The label is for category {row.named}; your license lists"
    sentence = f"{sentence} {listed_words(held.categories)}."
    return Judgement("label_category", row.severity, sentence, clause, ANOTHER)


def not_in_force(held: License, use: ProposedUse, whose: str) -> str:
    """Why a license does not count on the day in the state; empty when it does."""
    if held.state != use.state:
        return f"{whose} is for {held.state}; this property is in {use.state}."
    if held.expires_on < use.on:
        return f"{whose} ran out on {_day(held)}."
    if held.issued_on is not None and held.issued_on > use.on:
        return f"{whose} begins on {short_day(held.issued_on, True)}."
    return ""


def _day(held: License) -> str:
    return short_day(held.expires_on, True)


def _license(sentence: str) -> Judgement:
    return Judgement("license", Severity.REFUSE, sentence, LICENSE_CLAUSE, ANOTHER)


def restricted_use(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A restricted-use product needs a certified applicator, or one in charge and training."""
    if not facts.is_restricted_use:
        return []
    if use.license is not None and use.license.kind == LicenseKind.CERTIFIED:
        sentence = "Restricted use, by a certified applicator"
        return [Judgement("restricted", Severity.NOTE, sentence, RESTRICTED_CLAUSE)]
    return [_supervised(use.supervisor, use), *_supervisor_category(use), *_training(use)]


def _supervised(supervisor: License | None, use: ProposedUse) -> Judgement:
    to_do = "Name the certified applicator who supervises, or choose another product."
    wrong = "This product is restricted use and you are not certified; nobody supervises."
    if supervisor is not None:
        wrong = not_in_force(supervisor, use, "The supervisor's license")
        if supervisor.kind != LicenseKind.CERTIFIED:
            wrong = "The supervisor is not a certified applicator."
    if wrong:
        return Judgement("restricted", Severity.REFUSE, wrong, RESTRICTED_CLAUSE, to_do)
    sentence = "Restricted use, under a certified supervisor"
    return Judgement("restricted", Severity.NOTE, sentence, RESTRICTED_CLAUSE)


def _supervisor_category(use: ProposedUse) -> list[Judgement]:
    """Certified in the category of the job: from memory, unverified, so it warns."""
    supervisor = use.supervisor
    if supervisor is None or not use.categories:
        return []
    if lists_one_of(supervisor.categories, use.categories, supervisor.state):
        return []
    sentence = f"The supervisor's license is not known to list {wanted_words(use.categories)}"
    sentence = f"{sentence}: {listed_words(supervisor.categories)}."
    to_do = "Ask the office for a supervisor who holds it."
    return [
        Judgement("supervisor_category", Severity.WARN, sentence, RESTRICTED_CLAUSE, to_do),
    ]


def _training(use: ProposedUse) -> list[Judgement]:
    """A qualification record must exist (read); one over twelve months old warns (unverified)."""
    last = newest(use.trainings, use.on)
    match qualified(use.trainings, use.on):
        case Qualified.NO_RECORD:
            sentence = "There is no training record of you from before this day."
            to_do = "Have the training entered before mixing, or choose another product."
            return [_trained(Severity.REFUSE, sentence, to_do)]
        case Qualified.OVER if last is not None:
            sentence = f"Your training counted through {short_day(last.ends_on, True)}."
            to_do = "Ask the certified applicator in charge before mixing."
            return [_trained(Severity.WARN, sentence, to_do)]
    day = short_day(last.met_on, True) if last else ""
    return [_trained(Severity.NOTE, f"Trained on {day}", "")]


def _trained(severity: Severity, sentence: str, to_do: str) -> Judgement:
    return Judgement("training", severity, sentence, TRAINING_CLAUSE, to_do)


def preferences(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """What the customer insists on is judged like a label rule."""
    found = []
    for wish in use.preferences:
        judged = _preference(wish, facts, use)
        if judged is not None:
            found.append(judged)
    return found


def _preference(wish: HardPreference, facts: LabelFacts, use: ProposedUse) -> Judgement | None:
    match wish.kind:
        case PreferenceKind.NO_PESTICIDE_INSIDE:
            return _nothing_inside(wish, use)
        case PreferenceKind.BAIT_ONLY:
            return None if use.method == Method.BAIT else _no(wish, "bait only", "Choose a bait.")
        case PreferenceKind.PRODUCT_REFUSED if wish.product_name:
            return _refused_product(wish, facts)
    return _ask(wish)


def _nothing_inside(wish: HardPreference, use: ProposedUse) -> Judgement | None:
    inside = [zone.name for zone in use.zones if zone.place in INSIDE]
    if not inside:
        return None
    return _no(wish, "no pesticide inside", f"Leave out {', '.join(inside)}.")


def _refused_product(wish: HardPreference, facts: LabelFacts) -> Judgement | None:
    if wish.product_name.casefold() != facts.product_name.casefold():
        return None
    return _no(wish, f"not {facts.product_name}", "Choose another product.")


def _no(wish: HardPreference, what: str, to_do: str) -> Judgement:
    sentence = f"The customer said {what}: {_who(wish)}."
    return Judgement("preference", Severity.REFUSE, sentence, CUSTOMER_CLAUSE, to_do)


def _ask(wish: HardPreference) -> Judgement:
    words = {
        PreferenceKind.CALL_FIRST: "asked for a call first",
        PreferenceKind.PRODUCT_REFUSED: "refused a product",
    }
    said = words.get(PreferenceKind(wish.kind), "insists on something")
    note = f" ({wish.note})" if wish.note else ""
    sentence = f"The customer {said}{note}: {_who(wish)}."
    return Judgement("preference", Severity.WARN, sentence, CUSTOMER_CLAUSE, "Ask before you mix.")


def _who(wish: HardPreference) -> str:
    """Who said so and when; only when, where no name may stand."""
    return ", ".join(part for part in (wish.said_by, short_day(wish.said_on, True)) if part)
