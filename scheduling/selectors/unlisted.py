"""What a technician may choose beyond the direction's own words, and who decides about it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from treatments.rules.alternatives import waits_for_signature
from treatments.rules.products import LABEL_METHODS, METHOD_WORDS, LicenseKind, Method
from treatments.selectors.decisions import is_waiting

if TYPE_CHECKING:
    from sites.models import Pest
    from treatments.models import LabelUse
    from treatments.selectors.checks import Preview

Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class PestRow:
    """A pest of the direction, chosen or not, or another one that was chosen."""

    pk: int
    name: str
    is_chosen: bool


@dataclass(frozen=True)
class Deciding:
    """Whether the technician may sign, or since when the office is asked."""

    can_sign: bool
    is_asked: bool


def methods_of(use: LabelUse) -> Choices:
    """The methods of the direction, then those that its label is silent about."""
    listed = [(name, METHOD_WORDS[Method(name)]) for name in use.methods]
    label = use.label_version
    if label.only_listed_uses:
        return tuple(listed)
    silent = [one for one in LABEL_METHODS if one not in (*use.methods, *label.prohibited_methods)]
    return (*listed, *((one.value, f"{METHOD_WORDS[one]} (not mentioned)") for one in silent))


def pest_rows(
    use: LabelUse, chosen: Collection[int], every: Collection[Pest]
) -> tuple[tuple[PestRow, ...], Choices]:
    """The pests to tick, and the others to choose from where the label is silent about them."""
    named = {pest.pk: pest.common_name for pest in use.pests.all()}
    rows = [PestRow(pk, name, pk in chosen) for pk, name in named.items()]
    if use.label_version.only_listed_uses:
        return tuple(rows), ()
    others = [pest for pest in every if pest.pk not in named]
    added = [one for one in others if one.pk in chosen]
    rows += [PestRow(one.pk, f"{one.common_name} (not named)", is_chosen=True) for one in added]
    rest = [(str(one.pk), one.common_name) for one in others if one not in added]
    return tuple(rows), tuple(rest)


def deciding(answer: Preview) -> Deciding | None:
    """Who decides about a use that is only warned of; None where nobody has to."""
    if not waits_for_signature(answer.judgements):
        return None
    license = answer.setting.license
    return Deciding(
        can_sign=license is not None and license.kind == LicenseKind.CERTIFIED,
        is_asked=is_waiting(answer.setting, answer.direction, answer.known.asked.waiting),
    )
