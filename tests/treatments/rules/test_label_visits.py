"""Two loads of one visit are one application: what was put before counts with what is put now.

Our own rule ("splitting never passes a maximum"); the numbers are derived by arithmetic.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from sites.rules.units import Amount, canonical
from tests.treatments.rules.label_cases import LABEL, USE, ZONE, d, only
from treatments.rules.label_checks import LabelFacts, ProposedUse, VisitUse
from treatments.rules.products import RateBasis, Severity
from treatments.rules.rates import Rate

MOST = replace(LABEL, rate_min=None, min_finished_gal=None, max_finished_gal=None)
A, B, C = 1, 2, 3


def mm2(square_feet: str) -> int:
    return canonical(d(square_feet), "ft2")


def zones(**feet: str) -> dict[int, int]:
    return {{"a": A, "b": B, "c": C}[name]: mm2(size) for name, size in feet.items()}


def before(
    sizes: Mapping[int, int], amount: str | None, unit: str = "fl_oz", **more: object
) -> VisitUse:
    product = None if amount is None else Amount(d(amount), unit)
    return VisitUse(**{"product": product, "finished": None, "sizes": sizes} | more)  # type: ignore[arg-type]


def now(
    sizes: Mapping[int, int], amount: str, *this_visit: VisitUse, **more: object
) -> ProposedUse:
    """An amount of fl oz on zones that are treated whole unless said otherwise."""
    square_feet = Amount(d(str(sum(sizes.values()))), "mm2").to("ft2")
    changes = {
        "zones": (replace(ZONE, area=square_feet),), "product": Amount(d(amount), "fl_oz"),
        "sizes": sizes, "wholes": sizes, "this_visit": this_visit,
    }  # fmt: skip
    return replace(USE, **changes | more)  # type: ignore[arg-type]


ONE = zones(a="1000")
TWO = zones(a="1000", b="1000")


@pytest.mark.parametrize(
    ("amount", "severity"), [("0.4", Severity.NOTE), ("0.400001", Severity.REFUSE)]
)
def test_loads_on_the_same_zones_are_judged_by_their_sum(amount: str, severity: Severity) -> None:
    found = only("rate", MOST, now(ONE, amount, before(ONE, "0.6")))
    assert found.severity == severity
    assert "with 0.6 fl oz recorded before at this visit" in found.sentence


def test_what_may_still_be_put_is_said() -> None:
    assert only("rate", MOST, now(ONE, "0.5", before(ONE, "0.6"))).to_do == (
        "Put no more than 0.4 fl oz, or measure again."
    )
    assert only("rate", MOST, now(ONE, "0.5", before(ONE, "1"))).to_do == (
        "Put nothing more of it on these zones at this visit."
    )


def test_the_least_is_reached_by_both_together() -> None:
    facts = replace(MOST, rate_min=Rate.of(RateBasis.AREA, d("0.5"), "fl_oz"))
    assert only("rate", facts, now(ONE, "0.25")).severity == Severity.WARN
    assert only("rate", facts, now(ONE, "0.25", before(ONE, "0.25"))).severity == Severity.NOTE


def test_finished_spray_of_both_is_counted_on_the_area() -> None:
    facts = replace(MOST, min_finished_gal=d("1"))
    half = now(ONE, "0.5", finished=Amount(d("0.5"), "gal"))
    assert only("volume", facts, half).severity == Severity.WARN
    both = replace(half, this_visit=(before(ONE, "0.5", finished=Amount(d("0.5"), "gal")),))
    assert only("volume", facts, both).severity == Severity.NOTE


def test_zones_of_the_other_record_only_are_not_mixed_up() -> None:
    # 1 fl oz on A alone and 1 fl oz on B alone: each is at the maximum
    assert only("rate", MOST, now(zones(b="1000"), "1", before(ONE, "1"))).severity == Severity.NOTE


@pytest.mark.parametrize(
    ("sizes", "amount", "earlier", "severity"),
    [
        # A and B get 0.5 each, then A 0.5 more: at the maximum
        (ONE, "0.5", [before(TWO, "1")], Severity.NOTE),
        # 0.6 more on A: if A had 0.4 of the first fl oz it is within, so it cannot be told
        (ONE, "0.6", [before(TWO, "1")], Severity.WARN),
        # 2.1 fl oz on 2,000 sq ft are too much wherever they went
        (ONE, "0.9", [before(TWO, "1.2")], Severity.REFUSE),
        # A had all it may get; A and B together get one more: too much for both, perhaps not
        (TWO, "1", [before(ONE, "1")], Severity.WARN),
        (TWO, "1.1", [before(ONE, "1")], Severity.REFUSE),
        # three records in a chain of zones
        (zones(b="1000", c="1000"), "1.5", [before(TWO, "1.5")], Severity.WARN),
        (zones(b="1000", c="1000"), "1.6", [before(TWO, "1.5")], Severity.REFUSE),
    ],
)  # fmt: skip
def test_partly_common_zones_warn_where_it_cannot_be_told(
    sizes: dict[int, int], amount: str, earlier: list[VisitUse], severity: Severity
) -> None:
    found = only("rate", MOST, now(sizes, amount, *earlier))
    assert found.severity == severity, found.sentence


@pytest.mark.parametrize(
    ("earlier", "amount", "severity"),
    [
        (before(ONE, None), "0.1", Severity.WARN),  # nobody wrote the amount down
        (before(ONE, "0.1", "oz_wt"), "0.1", Severity.WARN),  # of another kind
        (before(ONE, "0.6", is_same_direction=False), "0.4", Severity.NOTE),
        (before(ONE, "0.6", is_same_direction=False), "0.5", Severity.WARN),
        (before({A: 0}, "0.6"), "0.4", Severity.WARN),  # not measured that way
    ],
)
def test_what_is_not_comparable_warns(earlier: VisitUse, amount: str, severity: Severity) -> None:
    assert only("rate", MOST, now(ONE, amount, earlier)).severity == severity


def test_two_parts_of_a_zone_may_be_the_same_part() -> None:
    half = zones(a="500")
    parts = now(half, "0.5", before(half, "0.5"), wholes=ONE)
    # side by side each half is at the maximum, one on the other the half has twice of it
    assert only("rate", MOST, parts).severity == Severity.WARN
    assert only("rate", MOST, replace(parts, product=Amount(d("0.51"), "fl_oz"))).severity == (
        Severity.REFUSE
    )
    assert only("rate", MOST, now(half, "0.2", before(half, "0.3"), wholes=ONE)).severity == (
        Severity.NOTE
    )


def test_a_rate_in_the_spray_is_of_each_load_by_itself() -> None:
    facts = replace(MOST, rate_max=Rate.of(RateBasis.FINISHED_VOLUME, d("1"), "fl_oz"))
    use = now(ONE, "1", before(ONE, "1"), finished=Amount(d("1"), "gal"))
    found = only("rate", facts, use)
    assert found.severity == Severity.NOTE and "recorded before" not in found.sentence


def label_with(basis: RateBasis) -> LabelFacts:
    return replace(MOST, rate_max=Rate.of(basis, d("1"), "fl_oz"))


@pytest.mark.parametrize(
    ("basis", "name", "measured"),
    [
        (RateBasis.LINEAR, "length", Amount(d("10"), "ft")),
        (RateBasis.COUNT, "count", Amount(d("1"), "each")),
        (RateBasis.SPACE_VOLUME, "space", Amount(d("1000"), "ft3")),
    ],
)
def test_length_placements_and_space_are_summed_too(
    basis: RateBasis, name: str, measured: Amount
) -> None:
    size = {A: canonical(measured.value, measured.unit)}
    changes = {"sizes": size, "wholes": size, name: measured}
    for amount, severity in (("0.4", Severity.NOTE), ("0.41", Severity.REFUSE)):
        use = replace(now(ONE, amount, before(size, "0.6")), **changes)
        assert only("rate", label_with(basis), use).severity == severity
    other = replace(now(ONE, "0.6", before({A: size[A], B: size[A]}, "1")), **changes)
    assert only("rate", label_with(basis), other).severity == Severity.WARN
