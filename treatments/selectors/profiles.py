"""The rules that are in the table, as the rules of this floor take them."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from treatments.models import JurisdictionProfile, ProfileVerification
from treatments.rules.copies import read_copies
from treatments.rules.profile_file import read_asks, read_notices, read_one_of
from treatments.rules.profile_terms import Deadline, Retention
from treatments.rules.profile_words import Allowance, Anchor, DeadlineKind, Evidence, Reach
from treatments.rules.profiles import Profile
from treatments.selectors.settled import kept


def profile_rows() -> QuerySet[JurisdictionProfile]:
    """Every version, marked with whether it is verified."""
    seen = ProfileVerification.objects.filter(profile=OuterRef("pk"))
    return JurisdictionProfile.objects.annotate(is_verified=Exists(seen))


def profiles_of(state: str, *, is_restricted: bool = True) -> tuple[Profile, ...]:
    """Every version that work in a state may follow: federal, of the state, the firm's.

    Without the federal ones where no product is of restricted use, since these ask of no other.
    One query where each is settled and kept already; else two.
    """
    rows = profile_rows().filter(~Q(reach=Reach.STATE) | Q(state=state))
    if not is_restricted:
        rows = rows.exclude(reach=Reach.FEDERAL)
    heads: QuerySet[JurisdictionProfile, Any] = rows.values_list("pk", "used_at", "is_verified")  # type: ignore[misc]
    found: dict[int, Profile | None] = {
        pk: _settled(pk, used_at is not None, is_verified) for pk, used_at, is_verified in heads
    }
    rest = [pk for pk, profile in found.items() if profile is None]
    if rest:
        found |= {row.pk: as_profile(row) for row in profile_rows().filter(pk__in=rest)}
    return tuple(profile for profile in found.values() if profile)


def _settled(pk: int, is_used: bool, is_verified: bool) -> Profile | None:
    """A version that is verified or followed by a record never changes but in these two."""
    if not (is_used or is_verified):
        return None
    key = f"profile:{pk}:{is_used}:{is_verified}"
    return kept(key, lambda: as_profile(profile_rows().get(pk=pk)))


def profiles_named(names: Collection[str]) -> tuple[Profile, ...]:
    """The versions that a record names (US-OH/1), in the order of their codes; 1 query."""
    codes = {name.rpartition("/")[0] for name in names}
    found = map(as_profile, profile_rows().filter(code__in=codes) if codes else ())
    return tuple(sorted((one for one in found if one.name in names), key=lambda one: one.code))


def as_profile(row: JurisdictionProfile) -> Profile:
    """One row of `profile_rows` in the words of the rules."""
    return Profile(
        code=row.code,
        version=row.version,
        reach=Reach(row.reach),
        state=row.state,
        effective_on=row.effective_on,
        citation=row.citation,
        applies=row.applies,
        asks=read_asks(row.fields),
        one_of=read_one_of(row.one_of),
        retention=Retention(
            row.retention_years, Anchor(row.retention_anchor), Evidence(row.retention_evidence)
        ),
        deadline=Deadline(
            DeadlineKind(row.deadline_kind), row.deadline_amount, Evidence(row.deadline_evidence)
        ),
        unlisted_pest=Allowance(row.unlisted_pest),
        unlisted_method=Allowance(row.unlisted_method),
        copies=read_copies(row.copies, is_verified=row.is_verified),  # type: ignore[attr-defined]
        notices=read_notices(row.notices),
        is_used=row.used_at is not None,
        is_verified=row.is_verified,  # type: ignore[attr-defined]
    )


def written_by(profile: JurisdictionProfile) -> set[int | None]:
    """Who entered a version; nobody for what came with Eaveline, so that anybody is a second."""
    return {profile.created_by_id} - {None}
