"""What the rules of each state ask; the cases are those of the reference, 7.4.

The rules themselves were read as far as `profiles.json` says beside each of them.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.treatments.rules.profile_cases import ENTRIES, EVERY, VERIFIED, job, profile
from treatments.rules.predicates import Fact, Job
from treatments.rules.profile_file import read_profile
from treatments.rules.profile_words import Item, Mark
from treatments.rules.profiles import Gap, Profile, asked, forbids, gaps, in_force, resolve, wanted

DAY = date(2026, 11, 25)
OUT = Fact.OUTDOOR
WEATHER = {Item.WIND_SPEED, Item.WIND_DIRECTION, Item.AIR_TEMPERATURE}


def _missing(code: str, about: Job, *without: Item) -> set[Item]:
    """The items that the profile misses firmly when everything but `without` is given."""
    found = gaps([VERIFIED[code]], about, EVERY - set(without))
    return {item for gap in found if gap.is_firm for one in gap.askings for item in one.items}


@pytest.mark.parametrize(
    ("code", "about", "without", "is_missing"),
    [
        # COMAR 15.05.01.12 (older copy, read): wind within 3 ft of a structure is not asked
        ("US-MD", job(OUT, distance_ft="3"), Item.WIND_SPEED, False),
        ("US-MD", job(OUT, distance_ft="3.5"), Item.WIND_SPEED, True),
        ("US-MD", job(OUT, distance_ft="3.5"), Item.WIND_DIRECTION, True),
        ("US-MD", job(Fact.BAIT_STATION, distance_ft="9"), Item.WIND_SPEED, False),
        # 21.17.50.10 NMAC (read): weather not in or immediately adjacent to structures
        ("US-NM", job(OUT, Fact.ADJACENT_TO_STRUCTURE), Item.WIND_SPEED, False),
        ("US-NM", job(OUT, Fact.ADJACENT_TO_STRUCTURE), Item.AIR_TEMPERATURE, False),
        ("US-NM", job(OUT), Item.AIR_TEMPERATURE, True),
        # Minn. Stat. 18B.37 subd. 2 (2006 and 2015, read): weather and the end, always
        ("US-MN", job(OUT), Item.WIND_SPEED, True),
        ("US-MN", job(OUT), Item.WIND_DIRECTION, True),
        ("US-MN", job(OUT), Item.AIR_TEMPERATURE, True),
        ("US-MN", job(OUT), Item.END_TIME, True),
        # 4 TAC 7.144 (read): a number only where the product is registered
        ("US-TX", job(), Item.REGISTRATION_NUMBER, False),
        ("US-TX", job(Fact.REGISTERED), Item.REGISTRATION_NUMBER, True),
        ("US-TX", job(), Item.PRODUCT_AMOUNT, True),
        # 40 CFR 171.303(b)(7)(ix)-(x) (numbering from memory): who is certified, who did it
        ("US-FED", job(Fact.IS_RUP, Fact.APPLICATOR_NONCERTIFIED), Item.SUPERVISOR, True),
        ("US-FED", job(Fact.IS_RUP), Item.APPLICATOR_NAME, False),
        # A.A.C. R3-8-501 (read): the number only for restricted use; the firm's own rule asks it
        ("US-AZ", job(Fact.REGISTERED), Item.REGISTRATION_NUMBER, False),
        ("US-AZ", job(Fact.REGISTERED, Fact.IS_RUP), Item.REGISTRATION_NUMBER, True),
        ("FIRM", job(Fact.REGISTERED), Item.REGISTRATION_NUMBER, True),
        # N.J.A.C. 7:30-7.3 (read, cut off): the end where the label has a re-entry interval
        ("US-NJ", job(Fact.LABEL_HAS_REENTRY_INTERVAL), Item.END_TIME, True),
        ("US-NJ", job(), Item.END_TIME, False),
        ("US-NJ", job(Fact.LABEL_RATE_PER_AREA), Item.AREA_TREATED, True),
        # 6 NYCRR 325.25 (read): the five digits
        ("US-NY", job(), Item.ZIP_CODE, True),
        # 7 Pa. Code 128.35 (read): the end where the label has a re-entry time
        ("US-PA", job(Fact.LABEL_HAS_REENTRY_INTERVAL), Item.END_TIME, True),
        ("US-PA", job(), Item.PARTICIPANTS, False),
    ],
)
def test_what_a_rule_asks_of_a_job(code: str, about: Job, without: Item, is_missing: bool) -> None:
    assert (without in _missing(code, about, without)) is is_missing


MIXED = job(OUT, Fact.DILUTED, Fact.REGISTERED)
RESTRICTED = job(OUT, Fact.IS_RUP)


@pytest.mark.parametrize(
    ("code", "about", "without", "is_met"),
    [
        # 4 TAC 7.144 (read): mixed needs the mixing rate or the percent active, with the total
        ("US-TX", MIXED, {Item.DILUTION, Item.PERCENT_ACTIVE}, False),
        ("US-TX", MIXED, {Item.DILUTION}, True),
        ("US-TX", MIXED, {Item.FINISHED_AMOUNT}, False),
        # ATCP 29.21 (read, cut off): rate and area do instead of concentration and quantity
        ("US-WI", MIXED, {Item.DILUTION}, True),
        ("US-WI", MIXED, {Item.DILUTION, Item.AREA_TREATED}, False),
        # A.A.C. R3-8-501 (read): percent and mix, or the concentrate
        ("US-AZ", MIXED, {Item.PERCENT_ACTIVE}, True),
        ("US-AZ", MIXED, {Item.PERCENT_ACTIVE, Item.PRODUCT_AMOUNT}, False),
        # Ga. R. 40-21-5 (read): size or total amount
        ("US-GA-40", MIXED, {Item.AREA_TREATED}, True),
        ("US-GA-40", MIXED, {Item.AREA_TREATED, Item.PRODUCT_AMOUNT}, False),
        # agency page to ORS 634.146 (read): amount or concentration
        ("US-OR", MIXED, {Item.PRODUCT_AMOUNT}, True),
        ("US-OR", MIXED, {Item.PRODUCT_AMOUNT, Item.DILUTION}, False),
        # one clock time is enough (40 CFR 171.303(b)(7): date and time)
        ("US-FED", RESTRICTED, {Item.START_TIME}, True),
        ("US-FED", RESTRICTED, {Item.START_TIME, Item.END_TIME}, False),
    ],
)
def test_one_of_several_ways_is_enough(
    code: str, about: Job, without: set[Item], is_met: bool
) -> None:
    assert (_missing(code, about, *without) == set()) is is_met


def test_a_ready_to_use_granule_without_a_number_is_accepted_in_texas() -> None:
    """4 TAC 7.144 (read): exempt products are in the rule, and have no number."""
    without = {Item.REGISTRATION_NUMBER, Item.FINISHED_AMOUNT, Item.DILUTION, Item.PERCENT_ACTIVE}
    assert _missing("US-TX", job(OUT), *without) == set()


@pytest.mark.parametrize("code", sorted(ENTRIES))
def test_a_profile_nobody_verified_only_warns(code: str) -> None:
    unverified = read_profile(ENTRIES[code])
    found = gaps([unverified], job(OUT, Fact.IS_RUP, Fact.WDO_WORK), frozenset())
    assert found, "every profile asks something"
    assert not any(gap.is_firm for gap in found)


@pytest.mark.parametrize("code", ["US-WA", "US-CA-SPCB", "US-MN", "US-CO"])
def test_items_from_memory_warn_in_a_verified_profile_too(code: str) -> None:
    marks = (Mark.UNKNOWN, Mark.REQUIRED_UNVERIFIED)
    unsure = {item for item, ask in VERIFIED[code].asks.items() if ask.mark in marks}
    found = gaps([VERIFIED[code]], job(OUT, Fact.DILUTED), EVERY - unsure)
    assert {one.item for gap in found for one in gap.askings} == unsure
    assert {gap.is_firm for gap in found} == {False}


def test_an_unknown_condition_asks_and_only_warns() -> None:
    found = gaps([VERIFIED["US-MD"]], Job({Fact.OUTDOOR: True}), EVERY - WEATHER)
    assert [gap.is_firm for gap in found] == [False]


def _codes(state: str, about: Job, on: date = DAY) -> list[str]:
    return [one.code for one in resolve(VERIFIED.values(), state=state, on=on, job=about)]


def test_federal_state_and_firm_are_followed_together() -> None:
    assert _codes("OH", job(OUT)) == ["FIRM", "US-OH"]
    assert _codes("OH", job(OUT, Fact.IS_RUP)) == ["FIRM", "US-FED", "US-OH"]
    assert _codes("CA", job(OUT)) == ["FIRM", "US-CA-DPR", "US-CA-SPCB"]
    assert _codes("NV", job(OUT)) == ["FIRM"]
    # chapter 620, not 40-21, is for work at structures; termite work has its own (read)
    assert _codes("GA", job(OUT, Fact.ADJACENT_TO_STRUCTURE)) == ["FIRM"]
    assert _codes("GA", job(OUT)) == ["FIRM", "US-GA-40"]
    assert _codes("NC", job(Fact.WDO_WORK, Fact.IS_RUP)) == [
        "FIRM", "US-FED", "US-NC-09L", "US-NC-34"]  # fmt: skip


def test_the_newest_version_that_has_begun_is_in_force() -> None:
    later = profile("US-OH", version=2, effective_on="2026-12-01")
    correction = profile("US-OH", version=3, effective_on="2026-12-01")
    every = (correction, VERIFIED["US-OH"], later)
    assert [one.version for one in in_force(every, date(2026, 11, 30))] == [1]
    assert [one.version for one in in_force(every, date(2026, 12, 1))] == [3]
    assert in_force(every, date(1999, 12, 31)) == ()


def test_who_asks_is_said_with_its_citation() -> None:
    two = (VERIFIED["US-FED"], VERIFIED["US-MN"])
    sources = [one.source for one in wanted(two, job(OUT, Fact.IS_RUP))[Item.AREA_TREATED]]
    assert sources == [
        "US-FED, 40 CFR 171.303(b)(7); 171.201(e)",
        "US-MN, Minn. Stat. 18B.37 subd. 2",
    ]
    assert Item.SIGNATURE not in wanted(two, job(OUT)), "what is not known is not asked for"


def test_only_a_verified_no_forbids_what_a_label_does_not_name() -> None:
    no = ENTRIES["US-OH"] | {"unlisted_pest": "no"}
    assert forbids([read_profile(no)], "unlisted_pest") is None
    told = forbids([VERIFIED["US-FED"], read_profile(no, is_verified=True)], "unlisted_pest")
    assert told is not None and told.code == "US-OH"
    assert forbids(VERIFIED.values(), "unlisted_method") is None


CODES = st.sets(st.sampled_from(sorted(ENTRIES)), max_size=6)
FACTS = st.sets(st.sampled_from(list(Fact)))
GIVEN = st.sets(st.sampled_from(list(Item)))


def _asked_firmly(profiles: list[Profile], about: Job) -> set[tuple[str, Item]]:
    return {(one.profile.code, one.item) for one in asked(profiles, about) if one.is_firm}


@given(CODES, st.sampled_from(sorted(ENTRIES)), FACTS, GIVEN)
def test_one_more_profile_never_asks_less(
    codes: set[str], more: str, facts: set[Fact], given: set[Item]
) -> None:
    about = job(*facts)
    few = [VERIFIED[code] for code in codes]
    many = [VERIFIED[code] for code in codes | {more}]
    assert set(wanted(few, about)) <= set(wanted(many, about))
    assert _asked_firmly(few, about) <= _asked_firmly(many, about)
    assert _said(gaps(few, about, given)) <= _said(gaps(many, about, given))


@given(st.permutations(sorted(ENTRIES)), FACTS, GIVEN, st.sampled_from(["OH", "MN", "CA", "GA"]))
def test_the_order_of_the_profiles_does_not_matter(
    codes: list[str], facts: set[Fact], given: set[Item], state: str
) -> None:
    about = job(*facts)
    shuffled = resolve([VERIFIED[c] for c in codes], state=state, on=DAY, job=about)
    straight = resolve(VERIFIED.values(), state=state, on=DAY, job=about)
    assert gaps(shuffled, about, given) == gaps(straight, about, given)


@given(FACTS, GIVEN, st.sets(st.sampled_from(list(Item))))
def test_filling_in_never_opens_a_gap(facts: set[Fact], given: set[Item], more: set[Item]) -> None:
    about = job(*facts)
    before = _said(gaps(VERIFIED.values(), about, given))
    assert _said(gaps(VERIFIED.values(), about, given | more)) <= before


def _said(found: tuple[Gap, ...]) -> set[tuple[str, bool, Item]]:
    return {(gap.profile.code, gap.is_firm, one.item) for gap in found for one in gap.askings}


def test_a_day_before_the_first_version_follows_nothing() -> None:
    begun = min(one.effective_on for one in VERIFIED.values())
    assert _codes("OH", job(OUT), begun - timedelta(days=1)) == []
