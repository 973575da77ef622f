"""Is it the right amount: rate and finished volume, compared without dividing."""

from __future__ import annotations

from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.units import Amount, group
from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse
from treatments.rules.products import RateBasis, Severity
from treatments.rules.rates import Rate, rate_number

MOST_SHOWN_DECIMALS = Decimal("0.0001")


def rate(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Above the maximum is refused without tolerance, equal passes, below the minimum warns."""
    limits = [one for one in (facts.rate_max, facts.rate_min) if one is not None]
    if not limits:
        return []
    try:
        return [_judged(facts, use, limits[0])]
    except Refused as refused:
        to_do = "Enter the amount in the label's unit."
        return [Judgement("rate", Severity.REFUSE, refused.sentence, facts.clause, to_do)]


def _judged(facts: LabelFacts, use: ProposedUse, shown: Rate) -> Judgement:
    measured = measure(use, shown.basis)
    if measured is None or measured.value <= 0:
        sentence = f"The rate {shown.words} cannot be checked: what it counts was not measured."
        return Judgement("rate", Severity.WARN, sentence, facts.clause, "Measure it and enter it.")
    if facts.rate_max is not None and facts.rate_max.compare(use.product, measured) > 0:
        return _over(facts.rate_max, facts, use, measured)
    if facts.rate_min is not None:
        least_measured = measure(use, facts.rate_min.basis) or measured
        if facts.rate_min.compare(use.product, least_measured) < 0:
            return _under(facts.rate_min, facts, use, least_measured)
    return _within(facts, use, shown, measured)


def _over(most: Rate, facts: LabelFacts, use: ProposedUse, measured: Amount) -> Judgement:
    allowed = most.product_on(measured)
    return Judgement(
        "rate",
        Severity.REFUSE,
        f"Rate {applied(most, use.product, measured)}; the most is {most.words}.",
        facts.clause,
        f"Put no more than {below(allowed)}, or measure again.",
    )


def _under(least: Rate, facts: LabelFacts, use: ProposedUse, measured: Amount) -> Judgement:
    return Judgement(
        "rate",
        Severity.WARN,
        f"Rate {applied(least, use.product, measured)}; the least is {least.words}.",
        facts.clause,
        "Check the area and the amount: too little may not work.",
    )


def _within(facts: LabelFacts, use: ProposedUse, shown: Rate, measured: Amount) -> Judgement:
    bounds = "most" if facts.rate_max is not None else "least"
    number = _shown(shown, use.product, measured)
    sentence = f"rate {number}, {bounds} {shown.words}"
    return Judgement("rate", Severity.NOTE, sentence, facts.clause)


def applied(rate: Rate, product: Amount, measured: Amount) -> str:
    """The rate put out with its unit, as near as four decimals."""
    number = _shown(rate, product, measured)
    return f"{number} %" if rate.basis == RateBasis.PERCENT else f"{number} {rate.per_words}"


def _shown(rate: Rate, product: Amount, measured: Amount) -> str:
    return rate_number(rate.applied(product, measured).quantize(MOST_SHOWN_DECIMALS))


def below(amount: Amount) -> str:
    """An amount never shown above itself: cut to four decimals."""
    cut = amount.value.quantize(MOST_SHOWN_DECIMALS, rounding="ROUND_DOWN")
    return str(Amount(cut, amount.unit))


def measure(use: ProposedUse, basis: RateBasis) -> Amount | None:
    """What a basis counts on in this use; None when it was not measured."""
    return {
        RateBasis.AREA: use.area,
        RateBasis.FINISHED_VOLUME: use.finished,
        RateBasis.DILUENT_VOLUME: use.diluent,
        RateBasis.LINEAR: use.length,
        RateBasis.COUNT: use.count,
        RateBasis.SPACE_VOLUME: use.space,
        RateBasis.PERCENT: use.finished,
    }[basis]


def finished_volume(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Finished spray per 1,000 sq ft against the label's range; outside it warns."""
    least, most = facts.min_finished_gal, facts.max_finished_gal
    if use.finished is None or (least is None and most is None) or use.area.value <= 0:
        return []
    gallons, thousands = use.finished.to("gal").value, use.area.value / 1000
    put = f"{group(gallons / thousands, 2)} gal per 1,000 sq ft"
    if most is not None and gallons > most * thousands:
        return [_volume(facts, f"Finished spray {put}; the most is {group(most, 2)}.")]
    if least is not None and gallons < least * thousands:
        return [_volume(facts, f"Finished spray {put}; the least is {group(least, 2)}.")]
    asked = " to ".join(group(one, 2) for one in (least, most) if one is not None)
    sentence = f"finished spray {put}, label {asked}"
    return [Judgement("volume", Severity.NOTE, sentence, facts.clause)]


def _volume(facts: LabelFacts, sentence: str) -> Judgement:
    to_do = "Calibrate again and walk at that speed."
    return Judgement("volume", Severity.WARN, sentence, facts.clause, to_do)
