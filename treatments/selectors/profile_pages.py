"""The sheets of the rules: the list, and one version beside the one before it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.shortcuts import get_object_or_404

from treatments.models import JurisdictionProfile
from treatments.rules.copies import read_copies
from treatments.rules.predicates import FACT_WORDS, condition_words
from treatments.rules.profile_file import read_asks, read_notices, read_one_of
from treatments.rules.profile_words import EVIDENCE_WORDS, ITEM_WORDS, MARK_WORDS, Item, Mark
from treatments.rules.profiles import ALWAYS, Ask, NoticeRule, in_force
from treatments.selectors.profiles import as_profile, profile_rows

NOT_ASKED = "Not asked"


@dataclass(frozen=True)
class RuleRow:
    """One rule in the list, by the version in force, or the first one to come."""

    row: JurisdictionProfile
    kept: str
    due: str
    is_verified: bool
    versions: int


@dataclass(frozen=True)
class RuleLine:
    """One fact of a version, what the version before said where that differs, how it is known."""

    name: str
    words: str
    before: str = ""
    evidence: str = ""


@dataclass(frozen=True)
class RulePage:
    """One version of a rule with its facts, verifications and other versions."""

    row: JurisdictionProfile
    is_verified: bool
    verified_by: tuple[str, ...]
    terms: tuple[RuleLine, ...]
    items: tuple[RuleLine, ...]
    notices: tuple[tuple[str, str], ...]
    versions: tuple[JurisdictionProfile, ...]
    has_before: bool


def rule_rows(today: date) -> list[RuleRow]:
    """Every rule, the version in force first of all; one query."""
    rows = list(profile_rows())
    now = {one.code: one.version for one in in_force(map(as_profile, rows), today)}
    by_code: dict[str, list[Any]] = {}
    for row in rows:
        by_code.setdefault(row.code, []).append(row)
    return [_rule_row(found, now.get(code)) for code, found in by_code.items()]


def _rule_row(found: list[Any], version: int | None) -> RuleRow:
    row = next((one for one in found if one.version == version), found[-1])
    return RuleRow(row, _kept(row), _due(row), row.is_verified, len(found))


def profile_for(pk: int) -> JurisdictionProfile:
    """One version, else Http404."""
    return get_object_or_404(JurisdictionProfile, pk=pk)


def rule_page(pk: int) -> RulePage:
    """One version beside the one before it; what is alike is said once."""
    row = get_object_or_404(profile_rows().prefetch_related("verifications__created_by"), pk=pk)
    versions = tuple(JurisdictionProfile.objects.filter(code=row.code))
    before = next((one for one in versions if one.version < row.version), None)
    return RulePage(
        row=row,
        is_verified=row.is_verified,  # type: ignore[attr-defined]
        verified_by=tuple(_verified(one) for one in row.verifications.all()),
        terms=_compared(_terms(row), _terms(before) if before else ()),
        items=_compared(_items(row), _items(before) if before else ()),
        notices=tuple(
            (_notice_words(one), EVIDENCE_WORDS[one.evidence]) for one in read_notices(row.notices)
        ),
        versions=versions,
        has_before=before is not None,
    )


def _verified(seen: Any) -> str:
    alone = " (one-person firm)" if seen.is_one_person_firm else ""
    return f"{seen.created_by.full_name}{alone}"


def _compared(new: tuple[RuleLine, ...], old: tuple[RuleLine, ...]) -> tuple[RuleLine, ...]:
    said = {line.name: line.words for line in old}
    names = {line.name for line in new}
    gone = tuple(RuleLine(one.name, NOT_ASKED, one.words) for one in old if one.name not in names)
    if not old:
        return new
    lines = []
    for line in new:
        before = said.get(line.name, NOT_ASKED)
        changed = "" if before == line.words else before
        lines.append(RuleLine(line.name, line.words, changed, line.evidence))
    return (*lines, *gone)


def _terms(row: JurisdictionProfile) -> tuple[RuleLine, ...]:
    kept, due = row.get_retention_evidence_display(), row.get_deadline_evidence_display()
    return (
        RuleLine("Citation", row.citation),
        RuleLine("How it is known", row.evidence),
        RuleLine("Counts where", condition_words(row.applies)),
        RuleLine("Records are kept", _kept(row), evidence=kept),
        RuleLine("Records are complete", _due(row), evidence=due if row.deadline_kind else ""),
        RuleLine("A pest no label names", row.get_unlisted_pest_display()),
        RuleLine("A method no label names", row.get_unlisted_method_display()),
        *_copies(row),
        *([RuleLine("Prescribed text", row.prescribed_text)] if row.prescribed_text else []),
    )


def _copies(row: JurisdictionProfile) -> list[RuleLine]:
    """What the version says of copies, each with its note and how it is known."""
    return [
        RuleLine(
            f"Copy for the customer{f' ({number})' if number > 1 else ''}",
            f"{one.words}. {one.note}".strip(),
            evidence=EVIDENCE_WORDS[one.evidence],
        )
        for number, one in enumerate(read_copies(row.copies), start=1)
    ]


def _notice_words(one: NoticeRule) -> str:
    return one.text if one.when is None else f"Where {FACT_WORDS[one.when]}: {one.text}"


def _kept(row: JurisdictionProfile) -> str:
    if row.retention_years is None:
        return "Not known"
    years = f"{row.retention_years} year{'' if row.retention_years == 1 else 's'}"
    return f"{years} from {row.get_retention_anchor_display()}"


def _due(row: JurisdictionProfile) -> str:
    words = row.get_deadline_kind_display() or "No time stated"
    return f"{row.deadline_amount} {words.lower()}" if row.deadline_amount else words


def _items(row: JurisdictionProfile) -> tuple[RuleLine, ...]:
    asks = read_asks(row.fields)
    first = [Item(name) for name in row.order if name in asks]
    ordered = [*first, *(item for item in asks if item not in first)]
    lines = [RuleLine(ITEM_WORDS[item], _ask_words(asks[item])) for item in ordered]
    for number, group in enumerate(read_one_of(row.one_of), start=1):
        ways = " or ".join(
            " with ".join(ITEM_WORDS[item].lower() for item in sorted(way)) for way in group.ways
        )
        where = "" if group.when == ALWAYS else f", where {condition_words(group.when)}"
        lines.append(RuleLine(f"One way is enough ({number})", f"{ways}{where}"))
    return tuple(lines)


def _ask_words(ask: Ask) -> str:
    if ask.when == ALWAYS:
        return MARK_WORDS[ask.mark]
    word = "Asked" if ask.mark == Mark.CONDITIONAL else MARK_WORDS[ask.mark]
    return f"{word} where {condition_words(ask.when)}"
