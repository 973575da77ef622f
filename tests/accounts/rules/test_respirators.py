"""Which respirators words name, and which papers hold for them.

29 CFR 1910.134 (from memory, unverified): (e) the medical evaluation is of the person, (f) a fit
test of one make, model and size, (d)(3) a schedule for cartridges.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.rules.respirators import (
    Papers,
    RespiratorKind,
    gaps,
    held,
    kinds_named,
    medical_until,
    newest_of_each,
    words_of,
)

K = RespiratorKind
DAY = date(2026, 9, 10)
HALF = Papers("Demonstration H, medium", DAY, DAY, DAY, K.HALF_VAPOR)
N95 = Papers("Demonstration N", DAY, DAY, None, K.FILTERING_FACEPIECE)
YESTERDAY = DAY - timedelta(days=1)


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        ("N95 filtering facepiece", [K.FILTERING_FACEPIECE]),
        ("N-95 mask", [K.FILTERING_FACEPIECE]),
        ("Filtering facepiece respirator with any N, R or P filter", [K.FILTERING_FACEPIECE]),
        ("Half-face respirator, organic vapor cartridge", [K.HALF_VAPOR]),
        ("Half mask with OV cartridge and P100 prefilter", [K.HALF_VAPOR]),
        ("half-face respirator with N95 filters", [K.HALF_PARTICULATE]),
        ("Full-face respirator with HE filter", [K.FULL_PARTICULATE]),
        ("Full facepiece with organic-vapor cartridges", [K.FULL_VAPOR]),
        # cartridges without a face: either; a face without cartridges: either
        ("Respirator with an organic vapor cartridge", [K.HALF_VAPOR, K.FULL_VAPOR]),
        ("Respirator with OV cartridges and a P100 prefilter", [K.HALF_VAPOR, K.FULL_VAPOR]),
        ("Half-face respirator", [K.HALF_PARTICULATE, K.HALF_VAPOR]),
        ("Half-face or full-face, organic vapor", [K.HALF_VAPOR, K.FULL_VAPOR]),
        ("PAPR with HE filters", [K.POWERED_AIR]),
        ("Supplied-air respirator with full facepiece", [K.SUPPLIED_AIR]),
        ("Self-contained breathing apparatus (SCBA)", [K.SELF_CONTAINED]),
        # a full facepiece of the apparatus is no full-face respirator with cartridges
        ("SCBA with full facepiece", [K.SELF_CONTAINED]),
        ("SCBA or supplied air, full facepiece", [K.SUPPLIED_AIR, K.SELF_CONTAINED]),
        ("Full-face with OV cartridges, or SCBA", [K.FULL_VAPOR, K.SELF_CONTAINED]),
        (
            "Filtering facepiece, or half-face with P100 filters",
            [K.FILTERING_FACEPIECE, K.HALF_PARTICULATE],
        ),
        ("A respirator", []),
        ("NIOSH-approved respirator", []),
        ("Chemical-resistant gloves", []),
    ],
)
def test_the_kinds_that_words_name(words: str, kinds: list[RespiratorKind]) -> None:
    assert list(kinds_named(words)) == kinds


@given(st.text(max_size=120))
def test_any_words_name_kinds_once_in_their_order(words: str) -> None:
    kinds = kinds_named(words)
    assert list(kinds) == [kind for kind in RespiratorKind if kind in kinds]


@pytest.mark.parametrize("kind", list(RespiratorKind))
def test_the_words_of_a_kind_name_it(kind: RespiratorKind) -> None:
    assert kind in kinds_named(words_of([kind]))


@pytest.mark.parametrize(
    ("papers", "kinds", "found"),
    [
        ((), [K.HALF_VAPOR], "no medical clearance, fit test and cartridge date are on file"),
        ((N95,), [K.HALF_VAPOR], "no fit test is on file for half-face with organic-vapor"),
        ((HALF, N95), [K.HALF_VAPOR], ""),
        ((HALF, N95), [], ""),
        ((N95,), [K.HALF_VAPOR, K.FILTERING_FACEPIECE], ""),  # any of the kinds will do
        ((replace(HALF, fit_test_until=YESTERDAY),), [], "the fit test ran out on Sep 9, 2026"),
        ((replace(HALF, kind=None),), [K.HALF_VAPOR], "no fit test is on file for"),
        # (e) the newest clearance is the person's: it opens and closes every kind
        ((N95, replace(HALF, medical_until=YESTERDAY)), [K.HALF_VAPOR], ""),
        ((replace(N95, medical_until=YESTERDAY), HALF), [K.HALF_VAPOR], "the medical clearance"),
        # (f) the newest of a kind counts
        ((HALF, replace(HALF, fit_test_until=YESTERDAY)), [K.HALF_VAPOR], ""),
        ((replace(HALF, fit_test_until=YESTERDAY), HALF), [K.HALF_VAPOR], "the fit test ran out"),
    ],
)
def test_papers_hold_for_their_kind(
    papers: tuple[Papers, ...], kinds: list[RespiratorKind], found: str
) -> None:
    said = " and ".join(gaps(papers, kinds, DAY))
    assert said.startswith(found) if found else not said
    assert (held(papers, kinds, DAY) is None) == bool(found)


@pytest.mark.parametrize("day", ["medical_until", "fit_test_until", "cartridge_until"])
def test_a_paper_holds_through_its_day(day: str) -> None:
    assert gaps((HALF,), (), DAY) == ()
    (gap,) = gaps((replace(HALF, **{day: YESTERDAY}),), (), DAY)
    assert gap.endswith("ran out on Sep 9, 2026")


def test_what_counts_of_several() -> None:
    older = replace(HALF, respirator="older")
    assert newest_of_each((HALF, N95, older)) == (HALF, N95)
    assert medical_until(()) is None
