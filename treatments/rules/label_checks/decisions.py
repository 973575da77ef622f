"""Where the label is silent, the certified applicator decides and signs (FIFRA 2(ee))."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from sites.rules.places import PestGroup
from treatments.rules.label_checks.facts import Decision, Judgement, LabelFacts, ProposedUse
from treatments.rules.products import Method, Severity

OTHER = "Choose another direction or product."


def unlisted_pests(facts: LabelFacts, pests: Mapping[str, PestGroup]) -> frozenset[str]:
    """The common names that a direction names neither by itself nor by their group."""
    named = {name.casefold() for name in facts.pests}
    return frozenset(
        name
        for name, group in pests.items()
        if name.casefold() not in named and group not in facts.pest_groups
    )


def to_decide(facts: LabelFacts, method: Method, pests: Mapping[str, PestGroup]) -> frozenset[str]:
    """The pests a decision must name; empty when only the method is not mentioned.

    Refused: a use that the label names, and one that nobody may allow: a prohibited method, a
    label that says "only these".
    """
    unlisted = unlisted_pests(facts, pests)
    if method in facts.methods and not unlisted:
        sentence = "This direction names the method and every pest. There is nothing to decide."
        raise Refused("nothing_to_decide", sentence)
    if method in facts.prohibited_methods or facts.only_these:
        raise Refused("forbidden", f"The label forbids this use; nobody may allow it. {OTHER}")
    return unlisted


def decided(silent: Judgement, facts: LabelFacts, use: ProposedUse) -> Judgement:
    """The warning about what the label does not name, or what was decided about it last."""
    pests = unlisted_pests(facts, use.pests)
    about = [one for one in use.decisions if one.method == use.method and pests <= one.pests]
    if not about:
        return silent
    last = max(about, key=lambda one: one.at)
    return replace(silent, **_answer(silent, last))


def _answer(silent: Judgement, last: Decision) -> dict[str, Any]:
    signed = f"license {last.license_number}, on {short_day(last.on, True)}"
    who = f"{last.by}, {signed}" if last.by else f"the holder of {signed}"
    why = f": {last.reason}" if last.reason else ""
    if last.is_allowed:
        sentence = f"{silent.sentence} Allowed by {who}{why}"
        return {"severity": Severity.NOTE, "sentence": sentence, "to_do": ""}
    sentence = f"{silent.sentence} Not allowed by {who}{why}"
    return {"severity": Severity.REFUSE, "sentence": sentence, "to_do": OTHER}
