"""What is allowed instead of a refused use, the nearest first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from treatments.rules.label_checks import Judgement, allowed
from treatments.rules.products import Method, Severity

MOST_SHOWN = 5
SIGNED_FOR = frozenset({"method", "pest"})  # a warning there waits for the certified applicator
MAIN_GROUP = re.compile(r"\d+", re.ASCII)


@dataclass(frozen=True)
class Candidate:
    """One direction by one method that passes for the same zones and pests.

    `direction` and `label` are keys, `groups` the resistance groups of its ingredients as
    written (3A), `warnings` how many judgements still ask to be looked at.
    """

    direction: int
    method: Method
    label: int
    product_name: str
    groups: frozenset[str] = frozenset()
    warnings: int = 0


def passes(judgements: Sequence[Judgement]) -> bool:
    """Nothing is refused, and nothing waits for a signature of the certified applicator."""
    return allowed(judgements) and not waits_for_signature(judgements)


def waits_for_signature(judgements: Sequence[Judgement]) -> bool:
    """The label is silent about the method or a pest, and nobody certified has decided."""
    return any(one.code in SIGNED_FOR and one.severity == Severity.WARN for one in judgements)


def of_the_label(refused: Candidate, passing: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """The allowed treatments of the refused label: its direction first, then its method."""

    def distance(one: Candidate) -> tuple[bool, bool, int, int]:
        other_direction = one.direction != refused.direction
        return (other_direction, one.method != refused.method, one.warnings, one.direction)

    same = [one for one in passing if one.label == refused.label]
    others = [one for one in same if _what(one) != _what(refused)]
    return tuple(sorted(others, key=distance)[:MOST_SHOWN])


def of_other_lots(refused: Candidate, passing: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """The same product under another label, each label once: what a lot of it is judged by."""
    best: dict[int, Candidate] = {}
    for one in sorted(passing, key=lambda one: _nearness(refused, one)):
        if one.product_name == refused.product_name and one.label != refused.label:
            best.setdefault(one.label, one)
    return tuple(best.values())[:MOST_SHOWN]


def of_other_products(refused: Candidate, passing: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """Other products, each once: another resistance group first, then by name.

    A product whose group is not entered is not known to be another one.
    """

    def order(one: Candidate) -> tuple[bool, str]:
        return (not is_another_group(refused.groups, one.groups), one.product_name.casefold())

    best: dict[str, Candidate] = {}
    for one in sorted(passing, key=lambda one: _nearness(refused, one)):
        if one.product_name != refused.product_name:
            best.setdefault(one.product_name, one)
    return tuple(sorted(best.values(), key=order)[:MOST_SHOWN])


def _what(one: Candidate) -> tuple[int, Method]:
    return one.direction, one.method


def _nearness(refused: Candidate, one: Candidate) -> tuple[bool, int, int]:
    return one.method != refused.method, one.warnings, one.direction


def is_another_group(first: Iterable[str], second: Iterable[str]) -> bool:
    """Whether two products have known groups and none in common; 3A and 3B are both group 3.

    IRAC numbers the site of action and letters the chemistry (from memory, unverified): it only
    orders a list here.
    """
    mine, other = _main_groups(first), _main_groups(second)
    return bool(mine and other) and not mine & other


def _main_groups(groups: Iterable[str]) -> frozenset[str]:
    found = (MAIN_GROUP.match(group.strip()) for group in groups)
    return frozenset(one.group() for one in found if one)
