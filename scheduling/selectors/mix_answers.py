"""What the label says of a mix, put on its page: checks, amounts, questions, what to wear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scheduling.selectors.mix_pages import MixPage
from scheduling.selectors.mix_words import MixWords, mix_words, so_far_words, with_second
from treatments.rules.alternatives import waits_for_signature
from treatments.rules.label_checks import Judgement
from treatments.rules.label_checks.handling import Handling, handling
from treatments.rules.products import Severity
from treatments.rules.protective_equipment import Worn
from treatments.selectors.checks import Preview
from treatments.selectors.label_facts import label_facts
from treatments.selectors.tank_mixes import TankMix
from treatments.selectors.wearing import wear


def answered(page: MixPage, answer: Preview, tank: TankMix | None) -> MixPage:
    """The page with what is said of each product and of the tank, and the amounts if allowed."""
    is_allowed = answer.is_allowed and (tank is None or tank.is_allowed)
    mix = (
        mix_words(answer.mix, page.size, page.choice.system) if answer.mix and is_allowed else None
    )
    if mix and tank:
        mix = with_second(mix, tank, page.choice.system)
    checks = _checks(answer, tank)
    return replace(
        page,
        checks=checks,
        is_allowed=is_allowed,
        verdict=_verdict(checks),
        mix=mix,
        plan=answer.mix if mix else None,
        so_far=so_far_words(answer, page.choice.system),
        questions=answer.questions,
        also_questions=tank.questions if tank else (),
        summary=_summary(is_allowed, checks, mix),
        wear=_wear(answer, tank),
        handling=_handling(answer, tank),
    )


def _handling(answer: Preview, tank: TankMix | None) -> tuple[Handling, ...]:
    """What both labels ask of the work, each with its page; what a question quotes stands there."""
    previews = [one for one in (answer, tank.second if tank else None) if one]
    return tuple(item for one in previews for item in _told(one))


def _told(answer: Preview) -> tuple[Handling, ...]:
    quoted = {question.quote for question, _ in answer.questions}
    rows = label_facts(answer.direction).limits
    return handling(row for row in rows if row.sentence not in quoted)


def _wear(answer: Preview, tank: TankMix | None) -> tuple[Worn, ...]:
    """What both labels want worn, each item once for its tasks and page."""
    worn = [
        item
        for one in (answer, tank.second if tank else None)
        if one
        for item in wear(one.setting, one.direction, is_mixed=one.finished is not None)
    ]
    return tuple(dict.fromkeys(worn))


def _checks(answer: Preview, tank: TankMix | None) -> tuple[Judgement, ...]:
    """What is said of each product and of the tank; what both labels say alike stands once."""
    found = [*answer.judgements]
    if tank:
        found += [*tank.judgements, *tank.second.judgements]
    order = list(Severity)
    return tuple(sorted(dict.fromkeys(found), key=lambda one: order.index(one.severity)))


def _verdict(checks: Sequence[Judgement]) -> str:
    warned = sum(check.severity == Severity.WARN for check in checks)
    refused = sum(check.severity == Severity.REFUSE for check in checks)
    words = [f"{refused} refused"] if refused else []
    words += [f"{warned} to check"] if warned else []
    return ", ".join(words) or "nothing to check"


def _summary(is_allowed: bool, checks: Sequence[Judgement], mix: MixWords | None) -> str:
    if not is_allowed:
        return "Refused: see the label check."
    if waits_for_signature(checks):
        return "Sign first: see the label check."
    if mix is None:
        return "Allowed."
    loads = f", {len(mix.loads)} loads" if len(mix.loads) > 1 else ""
    return f"Allowed. {mix.product}{loads}."
