"""The checks of the audit, one row each and what passes it (regulations 7.7)."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from accounts.rules.item_kinds import KINDS as GROUND_KINDS
from treatments.rules.audit import kinds
from treatments.rules.audit.days import impossible
from treatments.rules.audit.facts import Job, RecordFacts, Said, Strength
from treatments.rules.audit.judged import OPENED_BY
from treatments.rules.audit.names import is_full
from treatments.rules.audit.records import CHECKS, audit
from treatments.rules.profile_words import NOT_KNOWN

NAMES = {"applicator": "Terry Technician", "customer": "Marta Ellwood"}
GOOD = {
    "about": "Demonstration A SC, Nov 25, 2026",
    "kind": "section3",
    "number": "99999-101",
    "product_number": "99999-101",
    "basis": "area",
    "has_amount": True,
    "has_finished": True,
    "product_ul": 47_318,
    "finished_ul": 6_056_659,
    "area_mm2": 148_644_864,
    "names": NAMES,
}


def found(**changes: Any) -> dict[str, str]:
    return audit(RecordFacts(**GOOD | changes))


def said(code: str, severity: str, sentence: str = "Not so.") -> dict[str, Any]:
    return {"judged": (Said(code, severity, sentence),)}


# every row: the number of the check, what opens its item, what does not
CASES: list[tuple[str, str, dict[str, Any], dict[str, Any]]] = [
    ("A01", kinds.INCOMPLETE, said("A01", "warn"), said("A01", "warn", f"{NOT_KNOWN}: rate.")),
    ("A02", kinds.LATE, said("A02", "violation"), said("A01", "note")),
    ("A03", kinds.CREDENTIAL, said("license", "violation"), said("license", "note")),
    ("A03", kinds.CREDENTIAL, said("category", "warn"), said("category", "note")),
    ("A04", kinds.RESTRICTED, said("restricted", "violation"), said("restricted", "note")),
    # 5.4: five forms; a group has no leading zero
    ("A05", kinds.NUMBER, {"number": "099-101", "product_number": "099-101"}, {}),
    # letters of a file symbol stand for digits (EPA Label Review Manual, ch. 14)
    ("A05", kinds.NUMBER, {"number": "99999-EGN", "product_number": "99999-EGN"}, {}),
    ("A05", kinds.NUMBER, {"product_number": "99999-102"}, {"number": ""}),
    ("A05", kinds.NUMBER, {"number": "99999-1011"}, {"kind": "", "number": "x"}),
    ("A06", kinds.AMOUNT, {"has_amount": False, "product_ul": None}, {"has_finished": False}),
    ("A07", kinds.AMOUNTS, {"product_ul": 1021, "finished_ul": 1000}, {"product_ul": 1000}),
    # 2 % exactly passes: 102 in 10,000 beside 100 in 10,000
    (
        "A07",
        kinds.AMOUNTS,
        {"product_ul": 103, "finished_ul": 10_000, "load": Strength(100, 10_000)},
        {"product_ul": 102, "finished_ul": 10_000, "load": Strength(100, 10_000)},
    ),
    # a product that is weighed: mg beside mg
    (
        "A07",
        kinds.AMOUNTS,
        {"product_ul": None, "product_mg": 90, "load": Strength(100, GOOD["finished_ul"])},
        {"product_ul": None, "product_mg": 100, "load": Strength(100, GOOD["finished_ul"])},
    ),
    ("A08", kinds.RATE, said("rate", "violation"), said("rate", "note")),
    ("A08", kinds.RATE, said("rate", "warn"), {"area_mm2": 0} | said("rate", "warn")),
    ("A09", kinds.SIZE, {"area_mm2": 0}, {"basis": "finished_volume", "area_mm2": 0}),
    ("A09", kinds.SIZE, {"basis": "linear"}, {"basis": "linear", "length_mm": 1}),
    ("A10", kinds.NOT_ON_LABEL, said("pest", "violation"), said("pest", "warn")),
    ("A10", kinds.NOT_ON_LABEL, said("version", "violation"), said("version", "note")),
    ("A11", kinds.PYRETHROID, said("height_up", "violation"), said("height_up", "note")),
    (
        "A11",
        kinds.PYRETHROID,
        said("impervious_horizontal", "violation"),
        said("rain_protected_only", "note"),
    ),
    ("A12", kinds.BAND, said("width_out", "violation"), said("width_out", "note")),
    ("A13", kinds.WIND, said("wind", "violation"), said("wind", "note")),
    ("A13", kinds.WIND, said("wind", "warn", "The wind was not measured."), said("wind", "note")),
    ("A16", kinds.TOO_SOON, said("interval", "violation"), said("interval", "warn")),
    # ORS 634.146 (read): names in full
    ("A18", kinds.NAME, {"names": NAMES | {"customer": "M. Ellwood"}}, {}),
    ("A18", kinds.NAME, {"names": NAMES | {"applicator": "Terry"}}, {"names": {"customer": ""}}),
]


@pytest.mark.parametrize(("check", "code", "opens", "passes"), CASES)
def test_each_check_opens_its_item_and_lets_pass(
    check: str, code: str, opens: dict[str, Any], passes: dict[str, Any]
) -> None:
    assert kinds.KINDS[code].check == check
    assert found(**opens)[code].startswith("Demonstration A SC, Nov 25, 2026: ")
    assert code not in found(**passes)


def test_what_is_right_opens_nothing() -> None:
    assert found() == {}


def test_every_kind_of_a_record_has_its_case() -> None:
    # two places at once and copies are looked at over many records, at night
    at_night = {kinds.TIMES, kinds.COPY}
    assert {code for _, code, _, _ in CASES} == set(kinds.RECORD_KINDS) - at_night
    assert set(OPENED_BY) | set(CHECKS) | at_night == set(kinds.RECORD_KINDS)
    assert not set(OPENED_BY) & set(CHECKS)


def test_every_number_of_a_check_has_a_kind() -> None:
    numbers = {kind.check for kind in kinds.KINDS.values() if kind.check}
    assert numbers == {f"A{number:02}" for number in range(1, 23)}


def test_a_sentence_names_nobody() -> None:
    sentence = found(names=NAMES | {"customer": "Zebedee"})[kinds.NAME]
    assert "Zebedee" not in sentence and "customer" in sentence


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Marta Ellwood", True),
        ("Jo Ann R. Smith", True),
        ("J. R. Smith", False),
        ("JR Smith", True),  # nobody can tell two letters from a short name
        ("Marta", False),
        ("M. E.", False),
        ("Li Wu", True),
        ("", False),
    ],
)
def test_a_name_in_full_has_two_words(name: str, expected: bool) -> None:
    assert is_full(name) is expected


START = datetime(2026, 11, 25, 14, tzinfo=UTC)


def job(pk: int, start: int, end: int, place: int = 1, **fields: Any) -> Job:
    """From and to in minutes; `miles` north of the first place, one degree is 69.09 miles."""
    miles = fields.pop("miles", None)
    if miles is not None:
        fields |= {"latitude": Decimal(40) + Decimal(miles) / Decimal("69.0932"), "longitude": -83}
    at = (START + timedelta(minutes=start), START + timedelta(minutes=end))
    return Job(pk, fields.pop("person_id", 7), place, *at, **fields)


@pytest.mark.parametrize(
    ("jobs", "wrong"),
    [
        # A14, overlapping: one minute is enough, touching is not
        ([job(1, 0, 30), job(2, 29, 60, place=2)], {2}),
        ([job(1, 0, 30), job(2, 30, 60, place=2)], set()),
        # two products at one property are one stop
        ([job(1, 0, 30), job(2, 10, 40)], set()),
        # two technicians are in two places
        ([job(1, 0, 30), job(2, 10, 40, place=2, person_id=8)], set()),
        # a short job inside a long one hides nothing
        ([job(1, 0, 90), job(2, 10, 20, place=2), job(3, 60, 70, place=3)], {2, 3}),
        # at 90 mph (house rule) 45 miles take half an hour
        ([job(1, 0, 30, miles=0), job(2, 59, 80, place=2, miles=45)], {2}),
        ([job(1, 0, 30, miles=0), job(2, 61, 80, place=2, miles=45)], set()),
        # next door, and a place whose position nobody knows
        ([job(1, 0, 30, miles=0), job(2, 30, 60, place=2, miles=Decimal("0.9"))], set()),
        ([job(1, 0, 30, miles=0), job(2, 31, 60, place=2)], set()),
    ],
)
def test_nobody_is_in_two_places(jobs: list[Job], wrong: set[int]) -> None:
    assert set(impossible(jobs)) == set(impossible(reversed(jobs))) == wrong


def test_the_sentence_names_the_other_record() -> None:
    sentence = impossible([job(1, 0, 30, miles=0), job(2, 40, 60, place=2, miles=45)])[2]
    assert "10 min after record 1 ended, 45 miles away" in sentence


def test_the_table_of_checks_names_every_kind() -> None:
    text = Path("DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (A\d\d) [^|]*\| ([^|]*) \|", text, flags=re.MULTILINE)
    table = {(number, code) for number, codes in rows for code in re.findall(r"`(\w+)`", codes)}
    every = {**GROUND_KINDS, **kinds.KINDS}
    declared = {(kind.check, code) for code, kind in every.items() if kind.check}
    assert table == declared
