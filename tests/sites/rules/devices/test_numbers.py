"""Numbers of devices as typed, and the code on a label; house rules, arithmetic mod 23."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sites.rules.devices.numbers import (
    device_code,
    number_of,
    refuse_taken,
    typed_numbers,
)
from tests.devices import said_no


@pytest.mark.parametrize(
    ("typed", "numbers"),
    [
        ("7", (7,)),
        ("1-3, 14", (1, 2, 3, 14)),
        (" 9 , 2 - 4 ,", (9, 2, 3, 4)),
        ("9801-9999, 1", (*range(9801, 10_000), 1)),
    ],
)
def test_read(typed: str, numbers: tuple[int, ...]) -> None:
    assert typed_numbers(typed) == numbers


@pytest.mark.parametrize(
    "typed",
    [
        *("", ",", "0", "-3", "1--4", "4-1", "two", "1.5", "1;2", "²", "10000", "9999-10000"),
        *("5, 5", "1-4, 3", "1-10000", "1-201", "1-100, 101-201", "1-999999999", "9" * 201),
    ],
)
def test_refused_with_a_sentence(typed: str) -> None:
    with said_no("numbers"):
        typed_numbers(typed)


def test_ten_thousand_at_once_says_how_many_go() -> None:
    with said_no("numbers") as caught:
        typed_numbers("1-10000")
    assert "At most 200 devices" in caught.value.sentence


def test_a_number_is_never_used_again() -> None:
    with said_no("numbers") as caught:
        refuse_taken((1, 2, 3), {2, 3, 9})
    assert "2, 3" in caught.value.sentence
    refuse_taken((1, 4), {2, 3})


@given(st.integers(1, 10**9), st.integers(1, 9999))
@settings(max_examples=50)
def test_the_code_is_read_back_and_finds_each_wrong_digit(place: int, number: int) -> None:
    code = device_code(place, number)
    assert number_of(code, place) == number
    assert number_of(f" {code.lower()} ", place) == number
    assert number_of(code, place + 1) is None
    digits = code.split("-")[1]
    for at, sign in enumerate(digits):
        for other in set("0123456789") - {sign}:
            wrong = digits[:at] + other + digits[at + 1 :]
            assert number_of(code.replace(f"-{digits}-", f"-{wrong}-"), place) is None


@given(st.integers(1, 10**6), st.integers(1, 9999))
@settings(max_examples=50)
def test_two_digits_that_changed_places_are_found(place: int, number: int) -> None:
    code = device_code(place, number)
    digits = code.split("-")[1]
    for at in range(3):
        swapped = digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]
        if swapped != digits:
            assert number_of(code.replace(f"-{digits}-", f"-{swapped}-"), place) is None


@pytest.mark.parametrize(("typed", "number"), [("12", 12), ("0012", 12), ("x", None), ("", None)])
def test_a_bare_number_is_enough(typed: str, number: int | None) -> None:
    assert number_of(typed, 5) == number
