"""Is it the right amount: rate and finished volume, compared without dividing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.units import Amount, group
from treatments.rules.label_checks import visits
from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse, VisitUse
from treatments.rules.products import RateBasis, Severity
from treatments.rules.rates import IN_SPRAY, Rate, rate_number

MOST_SHOWN_DECIMALS = Decimal("0.0001")
AWAITED = "another load follows"  # ends what is said of a load that is not the last


def rate(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Above the maximum is refused without tolerance, equal passes, below the minimum warns.

    What the same visit put before on these zones counts with it, so that two loads never pass a
    maximum that one would not; a rate in the spray is of each load by itself.
    """
    limits = [one for one in (facts.rate_max, facts.rate_min) if one is not None]
    if not limits:
        return []
    try:
        return [_judged(facts, use, limits[0])]
    except Refused as refused:
        return [Judgement("rate", Severity.REFUSE, refused.sentence, facts.clause)]


def _judged(facts: LabelFacts, use: ProposedUse, shown: Rate) -> Judgement:
    measured = measure(use, shown.basis)
    if measured is None or measured.value <= 0:
        sentence = f"The rate {shown.words} cannot be checked: what it counts was not measured."
        return Judgement("rate", Severity.WARN, sentence, facts.clause, "Measure it and enter it.")
    others = () if shown.basis in IN_SPRAY else visits.beside(use)
    before = visits.put_here(use, others) or Amount(Decimal(0), use.product.unit)
    put = _Put(Amount(use.product.value + before.value, before.unit), before, measured)
    if facts.rate_max is not None:
        above = _above(facts.rate_max, facts, use, others, put)
        if above is not None:
            return above
    if facts.rate_min is not None:
        least = replace(put, measured=measure(use, facts.rate_min.basis) or measured)
        if facts.rate_min.compare(least.product, least.measured) < 0:
            return (_so_far if use.more_follows else _under)(facts.rate_min, facts, least)
    return _within(facts, shown, put)


@dataclass(frozen=True)
class _Put:
    """Product on what a rate counts, `before` of it recorded before at the same visit."""

    product: Amount
    before: Amount
    measured: Amount

    @property
    def said(self) -> str:
        if not self.before.value:
            return ""
        return f" with {below(self.before)} recorded before at this visit"


def _above(
    most: Rate, facts: LabelFacts, use: ProposedUse, others: Sequence[VisitUse], put: _Put
) -> Judgement | None:
    """Too much on these zones, for sure or perhaps; None when it is not."""
    if not others or visits.is_one_application(use, others):
        is_over = most.compare(put.product, put.measured) > 0
        return _over(most, facts, put) if is_over else None
    if most.compare(use.product, put.measured) > 0:
        return _over(most, facts, put)
    severity = visits.severity_over(most, use, others)
    if severity == Severity.NOTE:
        return None
    is_seen = severity == Severity.REFUSE and most.compare(put.product, put.measured) > 0
    return _over(most, facts, put) if is_seen else _beside(most, facts, severity)


def _over(most: Rate, facts: LabelFacts, put: _Put) -> Judgement:
    left = Amount(
        most.product_on(put.measured).value - put.before.to(most.product.unit).value,
        most.product.unit,
    )
    to_do = f"Put no more than {below(left)}, or measure again."
    if left.value <= 0:
        to_do = "Put nothing more of it on these zones at this visit."
    return Judgement(
        "rate",
        Severity.REFUSE,
        f"Rate {applied(most, put.product, put.measured)}{put.said}; the most is {most.words}.",
        facts.clause,
        to_do,
    )


def _beside(most: Rate, facts: LabelFacts, severity: Severity) -> Judgement:
    """Loads of a visit went to different zones: too much for all of them, or perhaps for one."""
    said = {
        Severity.REFUSE: f"together they get more than {most.words}.",
        Severity.WARN: f"whether one of them gets more than {most.words} cannot be told.",
    }
    return Judgement(
        "rate",
        severity,
        f"More of this product is recorded at this visit on some of these zones: {said[severity]}",
        facts.clause,
        "Choose only the zones that this load goes to, and add up what each has had.",
    )


def _under(least: Rate, facts: LabelFacts, put: _Put) -> Judgement:
    return Judgement(
        "rate",
        Severity.WARN,
        f"Rate {applied(least, put.product, put.measured)}{put.said}; the least is {least.words}.",
        facts.clause,
        "Check the area and the amount: too little may not work.",
    )


def _so_far(least: Rate, facts: LabelFacts, put: _Put) -> Judgement:
    """Another load of it follows at this visit: their sum is judged with that one."""
    so_far = applied(least, put.product, put.measured)
    sentence = f"Rate so far {so_far}{put.said}, least {least.words}: {AWAITED}"
    return Judgement("rate", Severity.NOTE, sentence, facts.clause)


def _within(facts: LabelFacts, shown: Rate, put: _Put) -> Judgement:
    bounds = "most" if facts.rate_max is not None else "least"
    number = _shown(shown, put.product, put.measured)
    sentence = f"rate {number}{put.said}, {bounds} {shown.words}"
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
    """Finished spray per 1,000 sq ft against the label's range; outside it warns.

    The loads of one visit on these zones count together.
    """
    least, most = facts.min_finished_gal, facts.max_finished_gal
    if use.finished is None or (least is None and most is None) or use.area.value <= 0:
        return []
    before = visits.sprayed_here(use, visits.beside(use)) or Amount(Decimal(0), "gal")
    gallons, thousands = use.finished.to("gal").value + before.value, use.area.value / 1000
    put = f"{group(gallons / thousands, 2)} gal per 1,000 sq ft"
    if most is not None and gallons > most * thousands:
        return [_volume(facts, f"Finished spray {put}; the most is {group(most, 2)}.")]
    if least is not None and gallons < least * thousands and use.more_follows:
        sentence = f"finished spray so far {put}, least {group(least, 2)}: {AWAITED}"
        return [Judgement("volume", Severity.NOTE, sentence, facts.clause)]
    if least is not None and gallons < least * thousands:
        return [_volume(facts, f"Finished spray {put}; the least is {group(least, 2)}.")]
    asked = " to ".join(group(one, 2) for one in (least, most) if one is not None)
    sentence = f"finished spray {put}, label {asked}"
    return [Judgement("volume", Severity.NOTE, sentence, facts.clause)]


def _volume(facts: LabelFacts, sentence: str) -> Judgement:
    to_do = "Calibrate again and walk at that speed."
    return Judgement("volume", Severity.WARN, sentence, facts.clause, to_do)
