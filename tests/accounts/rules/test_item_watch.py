"""What a check opens, says anew and closes."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from accounts.rules.item_watch import Finding, Known, steps

codes, things, sentences = (st.sampled_from(one) for one in ("ab", "123", "xyz"))
findings = st.lists(st.builds(Finding, codes, st.just(1), things, sentences), max_size=8)
known = st.lists(
    st.builds(Known, st.integers(1, 999), codes, things, sentences, st.booleans()),
    max_size=8,
    unique_by=(lambda one: one.pk, lambda one: (one.key, one.is_answered)),
)


def after(found: list[Finding], before: list[Known], looked_at: set[str]) -> list[Known]:
    """The items once the steps are done."""
    todo = steps(found, before, looked_at)
    anew = dict(todo.said_anew)
    left = [
        Known(one.pk, one.code, one.thing, anew.get(one.pk, one.sentence), one.is_answered)
        for one in before
        if one.pk not in todo.closed
    ]
    fresh = enumerate(todo.opened, start=1000)
    return left + [Known(pk, one.code, one.thing, one.sentence) for pk, one in fresh]


@given(findings, known, st.sets(things))
def test_a_second_run_changes_nothing(
    found: list[Finding], before: list[Known], looked_at: set[str]
) -> None:
    assert steps(found, after(found, before, looked_at), looked_at).is_quiet


@given(findings, known, st.sets(things))
def test_what_is_open_is_what_is_found(
    found: list[Finding], before: list[Known], looked_at: set[str]
) -> None:
    done = [one for one in after(found, before, looked_at) if not one.is_answered]
    named = {one.key for one in found}
    assert len({one.key for one in done}) == len(done)
    assert all(one.key in named for one in done if one.thing in looked_at)
    # nobody's answer is undone, and what was not looked at stays
    answered = [one for one in before if one.is_answered]
    assert all(one in after(found, before, looked_at) for one in answered)
    kept = [one for one in before if one.thing not in looked_at and one.key not in named]
    assert all(one in after(found, before, looked_at) for one in kept)


def test_an_answer_holds_until_another_sentence() -> None:
    answered = [Known(1, "a", "1", "Missing: rate.", is_answered=True)]
    same, other = (Finding("a", 1, "1", said) for said in ("Missing: rate.", "Missing: wind."))
    assert steps([same], answered, {"1"}).is_quiet
    assert steps([other], answered, {"1"}).opened == (other,)
