"""A label beside the one before it: what is printed, and what the firm says of each."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Count

from treatments.models import LabelVersion, UnlistedUseDecision
from treatments.rules.label_lines import Change, Line, compare
from treatments.rules.products import METHOD_WORDS, Method
from treatments.selectors.label_pages import (
    has_a_choice,
    printed_lines,
    proposed_rate,
    version_for,
)
from treatments.selectors.withdrawals import withdrawal_words

OF_THE_FIRM = "What the firm says"


def compared(pk: int) -> tuple[LabelVersion, LabelVersion | None, tuple[Change, ...]]:
    """A label beside the one before it; without one before, every fact is added."""
    new = version_for(pk)
    older = LabelVersion.objects.filter(product=new.product_id, effective_on__lt=new.effective_on)
    old = older.first()
    return new, old, compare(_lines(old) if old else (), _lines(new))


def _lines(version: LabelVersion) -> tuple[Line, ...]:
    return (*printed_lines(version), *_of_the_firm(version))


def _of_the_firm(version: LabelVersion) -> Iterator[Line]:
    """What is no word of the label: papers, proposed rates, decisions, the withdrawal."""
    for file in version.files.defer("content"):
        yield Line(OF_THE_FIRM, f"{file.get_kind_display()} (PDF)", file.name)
    for use in version.uses.select_related("firm_rate"):
        if has_a_choice(use):
            yield Line(OF_THE_FIRM, f"{use.title}, proposed", proposed_rate(use))
    yield from _decisions(version)
    withdrawn = withdrawal_words(version).now
    if withdrawn:
        yield Line(OF_THE_FIRM, "Withdrawal", f"{withdrawn.words}. {withdrawn.reason}")


def _decisions(version: LabelVersion) -> Iterator[Line]:
    decided = UnlistedUseDecision.objects.filter(
        label_use__label_version=version, is_allowed__isnull=False
    )
    columns = ("label_use__title", "method", "is_allowed")
    for title, method, is_allowed, times in (
        decided.order_by(*columns).values_list(*columns).annotate(times=Count("pk"))
    ):
        name = f"{title}, {METHOD_WORDS[Method(method)].lower()} decided"
        yield Line(OF_THE_FIRM, name, f"{'allowed' if is_allowed else 'not allowed'} {times} ×")
