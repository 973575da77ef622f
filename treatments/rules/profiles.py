"""Which rules a record follows, what they ask of this job, and what is missing.

The federal rule where the product is restricted use, those of the state of the property, the
firm's own: what any of them asks is asked, the longest retention and the earliest deadline hold.
What is not verified only warns (DEVELOPERS.md, "Refuse or warn").
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field
from datetime import date

from treatments.rules.copies import CopyRule
from treatments.rules.predicates import Condition, Fact, Job, holds
from treatments.rules.profile_terms import Deadline, Retention
from treatments.rules.profile_words import UNSURE, Allowance, Evidence, Item, Mark, Reach

ALWAYS: Condition = {"all": []}
UNKNOWN_RETENTION = Retention()
NO_DEADLINE = Deadline()
TIMES = frozenset({Item.START_TIME, Item.END_TIME})
# of a granule, a gel or a spray that is ready to use there is none (regulations 7.2: "if mixed")
ONLY_MIXED = frozenset({Item.FINISHED_AMOUNT, Item.DILUTION, Item.MIXING_LOCATION})


@dataclass(frozen=True)
class Ask:
    """How one item is asked; `when` is the condition of it."""

    mark: Mark
    when: Condition = field(default_factory=lambda: ALWAYS)


@dataclass(frozen=True)
class OneOf:
    """Ways of which one is enough, each a set of items that go together."""

    ways: tuple[frozenset[Item], ...]
    when: Condition = field(default_factory=lambda: ALWAYS)


@dataclass(frozen=True)
class NoticeRule:
    """What a rule wants besides the record, of every job (no fact) or where a fact holds."""

    text: str
    evidence: Evidence
    when: Fact | None = None


@dataclass(frozen=True)
class Profile:
    """One dated version of one rule; `state` is empty for the federal and the firm's own."""

    code: str
    version: int
    reach: Reach
    effective_on: date
    citation: str
    state: str = ""
    applies: Condition = field(default_factory=lambda: ALWAYS)
    asks: Mapping[Item, Ask] = field(default_factory=dict)
    one_of: tuple[OneOf, ...] = ()
    retention: Retention = UNKNOWN_RETENTION
    deadline: Deadline = NO_DEADLINE
    unlisted_pest: Allowance = Allowance.UNKNOWN
    unlisted_method: Allowance = Allowance.UNKNOWN
    copies: tuple[CopyRule, ...] = ()
    notices: tuple[NoticeRule, ...] = ()
    is_verified: bool = False
    is_used: bool = False

    @property
    def name(self) -> str:
        """Code and version as a record keeps them: US-OH/1."""
        return f"{self.code}/{self.version}"

    @property
    def source(self) -> str:
        """Code and citation, as people read who asks."""
        return f"{self.code}, {self.citation}"


@dataclass(frozen=True)
class Asking:
    """One profile asks for one item, or for one way of a group (`ways`, `item` the first one)."""

    profile: Profile
    item: Item
    mark: Mark
    is_firm: bool
    ways: tuple[frozenset[Item], ...] = ()

    @property
    def items(self) -> frozenset[Item]:
        return frozenset({self.item}).union(*self.ways)

    def is_met(self, given: Set[Item]) -> bool:
        """Whether what is given answers it: every item of one way, one time for a clock time."""
        if self.ways:
            return any(way <= given for way in self.ways)
        if self.mark == Mark.ONE_TIME:
            return bool(TIMES & given)
        return self.mark == Mark.IF_ANY or self.item in given


@dataclass(frozen=True)
class Gap:
    """What one profile asks and the record lacks; what is not firm only warns."""

    profile: Profile
    askings: tuple[Asking, ...]
    is_firm: bool


def in_force(profiles: Iterable[Profile], on: date) -> tuple[Profile, ...]:
    """Of each code the newest version that has begun, in the order of the codes."""
    newest: dict[str, Profile] = {}
    for one in profiles:
        if one.effective_on > on:
            continue
        held = newest.get(one.code)
        if held is None or _age(one) > _age(held):
            newest[one.code] = one
    return tuple(newest[code] for code in sorted(newest))


def _age(profile: Profile) -> tuple[date, int]:
    return profile.effective_on, profile.version


def resolve(profiles: Iterable[Profile], *, state: str, on: date, job: Job) -> tuple[Profile, ...]:
    """The profiles that a job at a property of `state` on a day follows.

    A profile whose scope hangs on something not known is followed: it asks and only warns.
    """
    mine = (one for one in in_force(profiles, on) if _reaches(one, state, job))
    return tuple(one for one in mine if holds(one.applies, job) is not False)


def _reaches(profile: Profile, state: str, job: Job) -> bool:
    if profile.reach == Reach.FEDERAL:
        return job.facts.get(Fact.IS_RUP) is not False
    return profile.reach == Reach.FIRM or profile.state == state


def asked(profiles: Iterable[Profile], job: Job) -> tuple[Asking, ...]:
    """Everything the profiles ask of a job, profile by profile."""
    return tuple(asking for profile in profiles for asking in _asked_by(profile, job))


def _asked_by(profile: Profile, job: Job) -> list[Asking]:
    sure = profile.is_verified and holds(profile.applies, job) is True
    found = []
    for item, ask in profile.asks.items():
        answer = holds(ask.when, job)
        if _is_not_mixed(item, job):
            continue
        if answer is not False and ask.mark != Mark.ALTERNATIVE:
            is_firm = sure and answer is True and ask.mark not in UNSURE
            found.append(Asking(profile, item, ask.mark, is_firm))
    return found + [
        Asking(profile, min(group.ways[0]), Mark.ALTERNATIVE, sure and answer is True, group.ways)
        for group in profile.one_of
        if (answer := holds(group.when, job)) is not False
    ]


def _is_not_mixed(item: Item, job: Job) -> bool:
    return item in ONLY_MIXED and job.facts.get(Fact.DILUTED) is False


def gaps(profiles: Iterable[Profile], job: Job, given: Set[Item]) -> tuple[Gap, ...]:
    """What is missing, per profile the firm part first and then what only warns."""
    found = []
    for profile in profiles:
        missing = [one for one in _asked_by(profile, job) if not one.is_met(given)]
        for is_firm in (True, False):
            part = tuple(one for one in missing if one.is_firm == is_firm)
            if part:
                found.append(Gap(profile, part, is_firm))
    return tuple(found)


def noticed(profiles: Iterable[Profile], job: Job) -> tuple[tuple[Profile, NoticeRule], ...]:
    """The notices whose fact holds of the job; what always holds is no finding."""
    return tuple(
        (profile, one)
        for profile in profiles
        for one in profile.notices
        if one.when is not None and job.facts.get(one.when) is True
    )


def wanted(profiles: Iterable[Profile], job: Job) -> dict[Item, tuple[Profile, ...]]:
    """Each item that is asked, alone or as one way of a group, with the profiles that ask it."""
    found: dict[Item, tuple[Profile, ...]] = {}
    for asking in asked(profiles, job):
        if asking.mark == Mark.UNKNOWN:
            continue
        for item in sorted(asking.items):
            known = found.get(item, ())
            found[item] = known if asking.profile in known else (*known, asking.profile)
    return found


def forbids(profiles: Iterable[Profile], what: str) -> Profile | None:
    """The first verified profile that forbids an `unlisted_pest` or `unlisted_method`."""
    for one in profiles:
        if one.is_verified and getattr(one, what) == Allowance.NO:
            return one
    return None
