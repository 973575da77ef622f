"""The identification key: check values, published separations, order, unknowns, next question."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sites.rules.identification.gain import information_gain, questions
from sites.rules.identification.key import Key, Known, Taxon, Trait, separating, size_values
from sites.rules.identification.pages import key_page
from sites.rules.identification.ranking import ranked, read_answers, remaining, written
from sites.rules.identification.words import Evidence
from tests.sites.rules.identification_key import KEY, answers_in_order

ANSWERS = [f"{trait.code}.{value}" for trait in KEY.traits.values() for value in trait.values]
SOME = st.lists(st.sampled_from(ANSWERS), max_size=8)


def first(*answers: str) -> Taxon:
    seen, strange = read_answers(KEY, answers)
    assert not strange
    return ranked(KEY, seen)[0].taxon


def test_black_m_on_white_is_the_asian_lady_beetle() -> None:
    """Michigan State University: the black M or W between head and abdomen."""
    assert first("legs.six", "wings.elytra", "shape.dome", "behind.m_mark").code == "HARAX"


def test_converging_lines_are_the_native_one_to_be_left() -> None:
    """University of Maine Extension: white lines that converge behind the head."""
    found = first("legs.six", "wings.elytra", "shape.dome", "behind.converging")
    assert (found.code, found.advice) == ("HIPCO", ("leave",))


# first, second, trait, what the first shows, what the second shows, who says so
PUBLISHED = [
    ("HARAX", "HIPCO", "behind", "m_mark", "converging", "U. of Maine Ext.; Michigan State U."),
    ("HARAX", "COCSE", "back", "many_spots", "seven_spots", "U. of Maine Ext.: spots 1-4-2"),
    ("HARAX", "ADABI", "back", "many_spots", "two_spots", "U. of Maine Ext.: one spot apiece"),
    ("HALHA", "BROCH", "antennae", "banded", "plain", "U. of Florida text on H. halys"),
    ("LEPOC", "TRIAT", "limbs", "leaf", "slim", "U. of Minnesota Ext. 2015; Utah State U."),
    ("LEPOC", "HALHA", "limbs", "leaf", "slim", "Utah State U. structural pest guide"),
    ("BOITR", "JADHA", "behind", "lines", "shoulders", "UC IPM Pest Notes, boxelder bug"),
    ("BOITR", "LARGU", "behind", "lines", "plain", "UC IPM Pest Notes, boxelder bug"),
    ("CAMPE", "TERSW", "antennae", "elbowed", "beaded", "Texas A&M AgriLife 2018"),
    ("CAMPE", "TERSW", "waist", "one_node", "broad", "Texas A&M AgriLife 2018"),
    ("TAPSE", "TERSW", "wing_pairs", "unequal", "equal", "Texas A&M AgriLife 2018"),
    ("BLAGE", "SUPLO", "behind", "stripes", "plain", "North Carolina State U.; U. of Florida"),
    ("SCUCO", "MILLI", "legs", "one_pair", "two_pairs", "general zoology; backyardnature.net"),
    ("CTEFE", "COLLE", "limbs", "jumping", "tail_fork", "Environmental Literacy Council"),
    ("APIME", "VESPU", "hair", "hairy", "smooth", "encyclopedia table of wasps and bees"),
    ("POLIS", "VESPU", "limbs", "dangling", "plain", "encyclopedia table of wasps and bees"),
    ("XYLOC", "BOMBU", "hair", "bare_tail", "hairy", "Iowa State U., told by a station"),
    ("RATNO", "RATRA", "tail", "shorter", "longer", "Napa County Mosquito Abatement District"),
    ("MUSMU", "RATNO", "tail", "same", "shorter", "Napa County Mosquito Abatement District"),
]


def test_at_least_twelve_pairs_have_a_published_source() -> None:
    assert len({row[:2] for row in PUBLISHED}) >= 12
    assert len([pair for pair in KEY.look_alikes if pair.source]) >= 12


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: "-".join(row[:3]))
def test_look_alikes_are_separated_as_published(row: tuple[str, ...]) -> None:
    one, other = KEY.taxa[row[0]], KEY.taxa[row[1]]
    assert row[2] in separating(one, other) and row[2] in separating(other, one)
    assert row[3] in one.traits[row[2]].values and row[4] in other.traits[row[2]].values


def test_every_pair_of_the_key_is_separated_by_the_trait_it_names() -> None:
    for pair in KEY.look_alikes:
        assert pair.trait in separating(KEY.taxa[pair.first], KEY.taxa[pair.second]), pair


@given(SOME, st.randoms(use_true_random=False))
@settings(max_examples=40)
def test_the_order_of_answers_never_matters(answers: list[str], chance: object) -> None:
    other = list(answers)
    chance.shuffle(other)  # type: ignore[attr-defined]
    assert key_page(KEY, answers) == key_page(KEY, other)


@given(SOME, st.sampled_from(sorted(KEY.traits)))
@settings(max_examples=40)
def test_an_unknown_answer_says_nothing(answers: list[str], trait: str) -> None:
    without = [one for one in answers if not one.startswith(f"{trait}.")]
    plain, _ = read_answers(KEY, without)
    blind, _ = read_answers(KEY, [*without, f"{trait}.unknown"])
    assert ranked(KEY, plain) == ranked(KEY, blind)
    assert trait in blind and trait not in {
        one.trait.code for one in questions(KEY, blind, remaining(ranked(KEY, blind)))
    }


@given(SOME)
@settings(max_examples=40)
def test_answers_written_are_read_as_the_same(answers: list[str]) -> None:
    seen, _ = read_answers(KEY, answers)
    assert read_answers(KEY, written(seen)) == (seen, ())


def test_legs_and_wings_exclude_and_nothing_else_does() -> None:
    assert [code for code, trait in KEY.traits.items() if trait.excludes] == ["legs", "wings"]
    seen, _ = read_answers(KEY, ["legs.eight", "color.green"])
    rows = {row.taxon.code: row for row in ranked(KEY, seen)}
    assert rows["HARAX"].is_excluded and rows["HARAX"].final == ("legs",)
    assert not rows["LYCOS"].is_excluded and rows["LYCOS"].against == ("color",)
    assert not any(row.is_excluded for row in ranked(KEY, read_answers(KEY, ["color.green"])[0]))


def test_several_values_mean_one_of_these() -> None:
    seen, _ = read_answers(KEY, ["size.s2", "size.s11"])
    rows = {row.taxon.code: row for row in ranked(KEY, seen)}
    assert rows["HALHA"].speaks_for == ("size",) and rows["TAPSE"].speaks_for == ("size",)
    assert rows["MUSMU"].against == ("size",)


def test_contradictory_legs_and_wings_leave_nobody_and_say_so() -> None:
    page = key_page(KEY, ["legs.fourteen", "wings.feathers"])
    assert page.is_contradiction and page.candidates == () and page.next is None
    assert {chip.words for chip in page.chips} == {
        "Legs: Fourteen legs, seven a side",
        "Wings: Feathers",
    }


def test_unknown_traits_are_left_out_and_counted() -> None:
    page = key_page(KEY, ["legs.nine", "moon.full", "legs", "", "legs.six"])
    assert (page.strange, page.answers) == (4, ("legs.six",))


def test_nothing_seen_ranks_nobody_and_asks() -> None:
    page = key_page(KEY, [])
    assert (page.candidates, page.leader, page.left) == ((), None, len(KEY.taxa))
    assert page.next is not None


# ---- the next best question against counting


def joint_bits(trait: Trait, taxa: Sequence[Taxon]) -> float:
    """H(taxon) - H(taxon | answer), counted from the table of every taxon with every answer."""
    table: dict[tuple[str, str], float] = {}
    for taxon in taxa:
        known = taxon.traits.get(trait.code)
        shown = sorted(known.values) if known else sorted(trait.values)
        for value in shown:
            table[taxon.code, value] = 1 / (len(taxa) * len(shown))
    before = log2(len(taxa))
    after = 0.0
    for value in trait.values:
        column = [share for (_, answer), share in table.items() if answer == value]
        total = sum(column)
        after += sum(share * log2(total / share) for share in column)
    return before - after


@st.composite
def small_keys(draw: st.DrawFn) -> Key:
    traits = {
        code: Trait(code, code, code, {f"v{n}": f"v{n}" for n in range(draw(st.integers(2, 5)))})
        for code in ("a", "b", "c")
    }
    taxa = {}
    for number in range(draw(st.integers(2, 7))):
        shown = {}
        for code, trait in traits.items():
            chosen = draw(st.sets(st.sampled_from(sorted(trait.values)), max_size=3))
            if chosen:
                shown[code] = Known(frozenset(chosen))
        taxa[f"t{number}"] = Taxon(f"t{number}", f"t{number}", shown)
    return Key(traits, taxa)


@given(small_keys())
@settings(max_examples=50)
def test_information_gain_is_what_counting_gives(key: Key) -> None:
    taxa = tuple(key.taxa.values())
    asked = questions(key, {}, taxa)
    for one in asked:
        assert one.bits == pytest.approx(joint_bits(one.trait, taxa), abs=1e-9)
    best = max(joint_bits(trait, taxa) for trait in key.traits.values())
    assert asked[0].bits == pytest.approx(best, abs=1e-9)


def test_one_candidate_needs_no_question_and_an_even_split_is_one_bit() -> None:
    trait = Trait("a", "a", "a", {"x": "x", "y": "y"})
    two = [Taxon(v, v, {"a": Known(frozenset({v}))}) for v in ("x", "y")]
    assert information_gain(trait, two) == pytest.approx(1)
    assert information_gain(trait, two[:1]) == 0


def test_the_real_key_asks_for_the_trait_that_counting_prefers() -> None:
    for answers in ([], ["shape.shield"], ["shape.waist"], ["legs.eight"]):
        seen, _ = read_answers(KEY, answers)
        still = remaining(ranked(KEY, seen))
        left = [trait for code, trait in KEY.traits.items() if code not in seen]
        best = max(left, key=lambda trait: round(joint_bits(trait, still), 9))
        assert questions(KEY, seen, still)[0].trait == best


@pytest.mark.parametrize("code", sorted(KEY.taxa))
def test_who_answers_truly_never_loses_the_animal(code: str) -> None:
    """At each step the answer is one the taxon shows, or Cannot see where it is not known."""
    for answers in answers_in_order(code, most=8):
        seen, _ = read_answers(KEY, answers)
        rows = ranked(KEY, seen)
        assert code in {taxon.code for taxon in remaining(rows)}
        mine = next(row for row in rows if row.taxon.code == code)
        assert not mine.against
    leaders = {row.taxon.code for row in rows if row.order[:3] == rows[0].order[:3]}
    assert code in leaders and len(leaders) <= 2


# ---- the data


def test_the_key_holds_the_animals_asked_for() -> None:
    assert len(KEY.taxa) >= 62
    for code in ("BATSP", "PASDO", "HIRUN", "SCIUR", "CTEFE", "PSYCH", "XYLOC", "BOMBU"):
        assert code in KEY.taxa
    for code in ("HORNE", "SOLIN", "SCORP", "LYCTI", "STORB", "PSOCO", "IXODI", "CULIC"):
        assert code in KEY.taxa


def test_every_animal_says_what_to_do_and_shows_legs_wings_and_length() -> None:
    for taxon in KEY.taxa.values():
        assert taxon.advice and taxon.advice_text and taxon.description, taxon.code
        assert {"legs", "wings", "shape", "size", "place"} <= set(taxon.traits), taxon.code
        if taxon.kind == "beneficial":
            assert "leave" in taxon.advice and "treat" not in taxon.advice


def test_a_source_is_named_only_beside_what_was_read_or_worked_out() -> None:
    marks = [known for taxon in KEY.taxa.values() for known in taxon.traits.values()]
    assert {known.evidence for known in marks} == {Evidence.READ, Evidence.DERIVED, Evidence.MEMORY}
    assert all(known.evidence is not Evidence.MEMORY for known in marks if known.source)


@pytest.mark.parametrize("code", ["TERSW", "TRIAT", "LOXRE", "CIMLE", "LYCTI"])
def test_some_need_a_specimen_that_a_second_person_confirms(code: str) -> None:
    """House rule: a mistake costs most there."""
    page = key_page(KEY, answers_in_order(code, most=8)[-1])
    candidate = next(one for one in page.candidates if one.code == code)
    assert candidate.specimen


def test_wood_destroying_says_what_an_inspection_is_not() -> None:
    page = key_page(KEY, ["antennae.beaded", "signs.mud_tubes"])
    assert page.leader is not None and page.leader.code == "TERSW"
    assert "not a wood-destroying insect or organism inspection" in page.leader.referral
    other = key_page(KEY, ["behind.m_mark"]).leader
    assert other is not None and other.referral == ""


@pytest.mark.parametrize(
    ("low", "high", "classes"),
    [
        ("5", "8", {"s4", "s7"}),
        ("4", "6.99", {"s4"}),
        ("7", "7", {"s7"}),
        ("0.75", "0.85", {"s0"}),
        ("178", "254", {"s60"}),
        ("1.6", "3.2", {"s0", "s2"}),
    ],
)
def test_a_length_falls_into_every_class_it_touches(low: str, high: str, classes: set[str]) -> None:
    assert size_values(Decimal(low), Decimal(high)) == classes
