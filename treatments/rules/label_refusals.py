"""What cannot stand on any label: each a sentence, with the field to mend it in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from accounts.refusals import Refused
from sites.rules.places import Place
from sites.rules.units import kind_of
from treatments.rules.label_entry import (
    FACTS_WITH_PAGE,
    NewDirection,
    NewIngredient,
    NewLabel,
    NewLimit,
    NewProduct,
    NewProtection,
)
from treatments.rules.limit_comparisons import COMPARISONS, NAMED
from treatments.rules.products import (
    COMPARISON_WORDS,
    DRY,
    LABEL_METHODS,
    LIMIT_FACT_WORDS,
    LIQUID,
    Comparison,
    Formulation,
    LimitFact,
    MixBasis,
    RateBasis,
    RegistrationKind,
    Severity,
    SignalWord,
    Task,
)
from treatments.rules.protective_equipment import NOT_NAMED, RESPIRATOR_WORDS, respirators_in
from treatments.rules.rates import IN_SPRAY
from treatments.rules.residual import LONGEST_CLAIM

FILL_TURNS = range(1, 7)
# a pH runs to 14, a part of a surface to 100 percent
HIGHEST = {LimitFact.WATER_PH: 14, LimitFact.SURFACE_SHARE: 100}
LONGEST_REENTRY = 30 * 24 * 60  # minutes; no source
WITHOUT_INGREDIENT = (RegistrationKind.DEVICE, RegistrationKind.NOT_A_PESTICIDE)


def refuse_product(product: NewProduct) -> None:
    """Refuse a product without a name, of an unknown kind, with ingredients above 100 percent."""
    if not product.name.strip():
        raise _refused("A product needs its name as printed on the label.", "name")
    _refuse_words("registration kind", "registration_kind", [product.registration_kind])
    _refuse_words("formulation", "formulation", [product.formulation])
    _refuse_words("signal word", "signal_word", [product.signal_word])
    refuse_ingredients(product.ingredients)


def refuse_without_ingredient(kind: str, ingredients: int) -> None:
    """Refuse a product of which no active ingredient is entered, unless its kind has none."""
    if not ingredients and kind not in WITHOUT_INGREDIENT:
        raise _refused(
            "A product needs at least one active ingredient. Enter it with the product first.",
            "ingredients",
        )


def refuse_ingredients(ingredients: Sequence[NewIngredient]) -> None:
    """Refuse ingredients without a name, twice the same, a percentage out of reach."""
    for one in ingredients:
        _refuse_ingredient(one)
    names = [one.common_name.strip().casefold() for one in ingredients]
    if len(set(names)) < len(names):
        raise _refused("This active ingredient stands on the product already.", "common_name")
    if sum(one.percent_by_weight for one in ingredients) > 100:
        sentence = "The ingredients together are above 100 percent."
        raise _refused(sentence, "percent_by_weight")


def _refuse_ingredient(one: NewIngredient) -> None:
    name = one.common_name.strip()
    if not name:
        raise _refused("An active ingredient needs its common name.", "common_name")
    if not 0 < one.percent_by_weight <= 100:
        sentence = f"{name[:60]}: a percentage is above 0, up to 100."
        raise _refused(sentence, "percent_by_weight")
    if one.pounds_per_gallon is not None and one.pounds_per_gallon <= 0:
        sentence = "Pounds per gallon are above zero. Leave it empty where the label names none."
        raise _refused(sentence, "pounds_per_gallon")


def refuse_unit(unit: str, formulation: str, field: str) -> None:
    """Refuse a liquid by weight and a dry product by volume: no density is entered to change it."""
    kind = kind_of(unit)
    if kind == "mass" and formulation in LIQUID:
        raise _refused(
            "This product is a liquid, and without its density a weight is no volume. "
            "Enter the label's fl oz, mL or gal.",
            field,
        )
    if kind == "volume" and formulation in DRY:
        raise _refused(
            "This product is dry, and without its density fl oz are no oz by weight. "
            "Enter the label's oz (wt), lb or g.",
            field,
        )


def refuse_limit_kind(limit: NewLimit, directions: Iterable[NewDirection]) -> None:
    """Refuse a limit that does not fit the rates of its direction.

    An amount in a year that cannot be compared with them, a condition for a high rate where the
    direction has no low one.
    """
    about = [one for one in directions if limit.direction in ("", one.title)]
    if limit.fact == LimitFact.HIGH_RATE_ONLY and all(_has_one_rate(one) for one in about):
        sentence = "A high rate needs a lowest rate below it. Enter that with the direction first."
        raise _refused(sentence, "direction")
    if limit.unit:
        _refuse_other_kind(limit, about)


def _has_one_rate(one: NewDirection) -> bool:
    return one.rate_min is None or one.rate_min >= one.rate_max


def _refuse_other_kind(limit: NewLimit, directions: Iterable[NewDirection]) -> None:
    for one in directions:
        kinds = {kind_of(one.rate_unit), kind_of(limit.unit)}
        if kinds == {"volume", "mass"}:
            raise _refused(
                f"{one.title[:60]!r} is counted in another kind of unit, and without a density "
                "fl oz and oz by weight cannot be compared. Use one kind for both.",
                "unit",
            )


def refuse_label(label: NewLabel) -> None:
    """Refuse a label without directions, with a text missing, or with a row that cannot be."""
    if not label.directions:
        raise _refused("A label needs at least one direction for use. Enter one.", "directions")
    refuse_facts(label)
    titles = {direction.title for direction in label.directions}
    if len(titles) < len(label.directions):
        raise _refused("Two directions have one title. Give each its own.", "directions")
    for direction in label.directions:
        refuse_direction(direction)
    for limit in label.limits:
        refuse_limit(limit, titles)
        refuse_limit_kind(limit, label.directions)
    for protection in label.protections:
        refuse_protection(protection)


def refuse_facts(label: NewLabel) -> None:
    """Refuse a text missing, an unknown method, a page of no fact, a re-entry no label asks for."""
    for name in ("protective_equipment", "reentry_text", "precautions"):
        if not getattr(label, name).strip():
            words = name.replace("_", " ")
            raise _refused(f"The {words} is missing. Copy it from the label.", name)
    if label.prohibited_methods:
        _refuse_words("method", "prohibited_methods", label.prohibited_methods)
    for name in label.pages:
        if name not in FACTS_WITH_PAGE:
            raise _refused(f"There is no fact {name[:40]!r} with a page.", "pages")
    if not 0 <= (label.reentry_minutes or 0) <= LONGEST_REENTRY:
        sentence = "Re-entry after that many minutes is not on any label. Read it again."
        raise _refused(sentence, "reentry_minutes")


def refuse_direction(direction: NewDirection) -> None:
    """Refuse an unknown place, method or unit, a rate of nothing, a claim no label makes."""
    kind_of(direction.rate_unit)
    _refuse_words("place", "places", direction.places)
    _refuse_words("method", "methods", direction.methods)
    _refuse_words("basis of a rate", "rate_basis", (direction.rate_basis,))
    _refuse_words("way to mix", "mix_basis", (direction.mix_basis,))
    if not direction.title.strip() or not direction.page.strip():
        field = "page" if direction.title.strip() else "title"
        raise _refused("A direction needs a title and the page it stands on.", field)
    _refuse_rate(direction)
    _refuse_coverage(direction)
    _refuse_days(direction)


def _refuse_rate(direction: NewDirection) -> None:
    if direction.rate_max <= 0:
        raise _refused(f"The rate of {direction.title!r} must be above zero.", "rate_max")
    for name in ("rate_min", "per_gallon"):
        value = getattr(direction, name)
        if value is not None and value <= 0:
            raise _refused(f"The rate of {direction.title!r} must be above zero.", name)
    if direction.rate_min is not None and direction.rate_min > direction.rate_max:
        raise _refused(f"The lowest rate of {direction.title!r} is above the highest.", "rate_min")
    if direction.rate_basis == RateBasis.PERCENT:
        _refuse_percent(direction)


def _refuse_percent(direction: NewDirection) -> None:
    if direction.rate_max > 100:
        raise _refused("Nothing is above 100 percent.", "rate_max")
    if kind_of(direction.rate_unit) != "volume":
        raise _refused(
            "A percent here is by volume: choose a liquid unit, or enter a dry product by weight "
            "per gallon.",
            "rate_unit",
        )


def _refuse_coverage(direction: NewDirection) -> None:
    least, usual, most = (
        direction.min_gallons_per_1000,
        direction.gallons_per_1000,
        direction.max_gallons_per_1000,
    )
    if any(gallons is not None and gallons <= 0 for gallons in (least, usual, most)):
        raise _refused(
            "Gallons on 1,000 sq ft are above zero; leave them empty where the label names none.",
            "gallons_per_1000",
        )
    given = [gallons for gallons in (least, usual, most) if gallons is not None]
    if given != sorted(given):
        raise _refused(
            "The least gallons on 1,000 sq ft must not be above the usual or the most.",
            "min_gallons_per_1000",
        )
    if usual is None and (direction.per_gallon is not None or direction.rate_basis in IN_SPRAY):
        raise _refused(
            "A rate in spray needs the gallons of finished spray on 1,000 sq ft.",
            "gallons_per_1000",
        )


def _refuse_days(direction: NewDirection) -> None:
    if not 0 <= (direction.residual_days or 0) <= LONGEST_CLAIM:
        sentence = f"A residual of {direction.residual_days} days is not on any label."
        raise _refused(sentence, "residual_days")
    if not 0 <= direction.min_interval_days <= LONGEST_CLAIM:
        sentence = f"An interval of {direction.min_interval_days} days is not on any label."
        raise _refused(sentence, "min_interval_days")
    if direction.uses_per_year is not None and not 0 < direction.uses_per_year <= 366:
        sentence = f"{direction.uses_per_year} uses a year are not on any label."
        raise _refused(sentence, "uses_per_year")


def refuse_limit(limit: NewLimit, titles: set[str]) -> None:
    """Refuse an unknown fact or word, a direction that is not there, a unit that does not fit."""
    _refuse_words("limit", "fact", (limit.fact,))
    _refuse_words("comparison", "comparison", (limit.comparison,))
    _refuse_words("severity", "severity", (limit.severity,))
    fitting = COMPARISONS[LimitFact(limit.fact)]
    if limit.comparison not in fitting:
        named = " or ".join(COMPARISON_WORDS[one].lower() for one in fitting)
        sentence = f"On a label this limit reads {named!r}. Choose that, or another limit."
        raise _refused(sentence, "comparison")
    if limit.direction and limit.direction not in titles:
        sentence = f"There is no direction {limit.direction[:40]!r} for the limit."
        raise _refused(sentence, "direction")
    if limit.limit < 0:
        raise _refused("A limit is never below zero. Read it again.", "limit")
    if not limit.sentence.strip() or not limit.page.strip():
        field = "page" if limit.sentence.strip() else "sentence"
        raise _refused("A limit needs the label's sentence and the page it stands on.", field)
    if limit.fact == LimitFact.FILL_TURN and limit.limit not in FILL_TURNS:
        raise _refused("A turn in the order of filling is a whole number from 1 to 6.", "limit")
    most = HIGHEST.get(LimitFact(limit.fact))
    if most is not None and not 0 < limit.limit <= most:
        name = LIMIT_FACT_WORDS[LimitFact(limit.fact)]
        raise _refused(f"{name}: a number above 0, up to {most}. Read it again.", "limit")
    _refuse_limit_unit(limit)
    _refuse_name(limit)


def _refuse_name(limit: NewLimit) -> None:
    needs = NAMED.get(LimitFact(limit.fact))
    if needs is None and limit.named.strip():
        raise _refused("This limit names nothing beside itself. Leave that field empty.", "named")
    if needs and not limit.named.strip():
        raise _refused("Say which category, as the license lists it.", "named")


def _refuse_limit_unit(limit: NewLimit) -> None:
    if limit.fact != LimitFact.PRODUCT_PER_AREA_YEAR:
        if limit.unit:
            raise _refused("Only an amount of product in a year has a unit of its own.", "unit")
        return
    if not limit.unit:
        raise _refused("Say in which unit the product in a year is counted.", "unit")
    kind_of(limit.unit)
    if limit.comparison != Comparison.AT_MOST or not limit.limit:
        raise _refused("An amount in a year is at most so much, above zero.", "limit")


def refuse_protection(protection: NewProtection) -> None:
    """Refuse an unknown task, an item or a page that is missing."""
    _refuse_words("task", "task", (protection.task,))
    if not protection.item.strip() or not protection.page.strip():
        field = "page" if protection.item.strip() else "item"
        raise _refused("Protective equipment needs its name and its page.", field)
    _refuse_respirators(protection)


def _refuse_respirators(protection: NewProtection) -> None:
    """The kind is chosen by who reads the label; its words only say that one must be."""
    chosen = protection.respirators
    if chosen:
        _refuse_words("kind of respirator", "respirators", chosen)
    if NOT_NAMED in chosen and len(chosen) > 1:
        sentence = "A kind is named, and not named. Tick the kinds that will do, or only the other."
        raise _refused(sentence, "respirators")
    suggested = respirators_in(protection.item)
    if suggested and not chosen:
        words = " or ".join(RESPIRATOR_WORDS[one] for one in suggested)
        sentence = f"Say which respirator will do; these words suggest: {words}."
        raise _refused(sentence, "respirators")


KNOWN: dict[str, list[str]] = {
    "registration_kind": list(RegistrationKind),
    "formulation": list(Formulation),
    "signal_word": list(SignalWord),
    "places": list(Place),
    "methods": list(LABEL_METHODS),
    "prohibited_methods": list(LABEL_METHODS),
    "rate_basis": list(RateBasis),
    "mix_basis": list(MixBasis),
    "fact": list(LimitFact),
    "comparison": list(Comparison),
    "severity": list(Severity),
    "task": list(Task),
    "respirators": list(RESPIRATOR_WORDS),
}


def _refuse_words(name: str, field: str, given: Iterable[str]) -> None:
    words = tuple(given)
    if not words:
        raise _refused(f"A direction needs at least one {name}.", field)
    for word in words:
        if word not in KNOWN[field]:
            known = ", ".join(KNOWN[field])
            raise _refused(f"There is no {name} {word[:40]!r}. Use one of {known}.", field)


def _refused(sentence: str, field: str) -> Refused:
    return Refused("label", sentence, field=field)
