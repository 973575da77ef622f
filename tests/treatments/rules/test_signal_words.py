"""Boundaries of 40 CFR 156.62 (read, eCFR of 2014-07-18) and words of 156.64 (read)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.refusals import Refused
from treatments.rules.products import SignalWord
from treatments.rules.signal_words import (
    DERMAL,
    INHALATION,
    ORAL,
    AcuteStudies,
    Category,
    allowed_words,
    category,
    overall_category,
    signal_word,
)


@pytest.mark.parametrize(
    ("bounds", "dose", "expected"),
    [
        (ORAL, "50", Category.I),
        (ORAL, "50.1", Category.II),
        (ORAL, "500", Category.II),
        (ORAL, "500.1", Category.III),
        (ORAL, "5000", Category.III),
        (ORAL, "5000.1", Category.IV),
        (DERMAL, "200", Category.I),
        (DERMAL, "2000", Category.II),
        (DERMAL, "20000", Category.III),
        (DERMAL, "20000.1", Category.IV),
        (INHALATION, "0.2", Category.I),
        (INHALATION, "2", Category.II),
        (INHALATION, "20", Category.III),
        (INHALATION, "20.1", Category.IV),
    ],
)
def test_boundaries(
    bounds: tuple[Decimal, Decimal, Decimal], dose: str, expected: Category
) -> None:
    assert category(Decimal(dose), bounds) == expected


def test_poison_mark_when_a_dose_decides() -> None:
    studies = AcuteStudies(oral=Decimal(600), dermal=Decimal(150), skin=Category.IV)
    assert overall_category(studies) == Category.I
    assert signal_word(studies) == SignalWord.DANGER_POISON


def test_no_poison_mark_when_the_eye_decides() -> None:
    studies = AcuteStudies(oral=Decimal(600), dermal=Decimal(2500), eye=Category.I)
    assert overall_category(studies) == Category.I
    assert signal_word(studies) == SignalWord.DANGER


@pytest.mark.parametrize(
    ("oral", "word"), [("100", SignalWord.WARNING), ("1000", SignalWord.CAUTION)]
)
def test_words_of_the_middle_categories(oral: str, word: SignalWord) -> None:
    assert allowed_words(AcuteStudies(oral=Decimal(oral))) == {word}


def test_category_four_may_carry_caution() -> None:
    mild = AcuteStudies(
        Decimal(6000), Decimal(30000), Decimal(30), eye=Category.IV, skin=Category.IV
    )
    assert allowed_words(mild) == {SignalWord.NONE, SignalWord.CAUTION}


def test_negative_doses_are_refused() -> None:
    with pytest.raises(Refused):
        category(Decimal(-1), ORAL)
