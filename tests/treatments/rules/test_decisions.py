"""Where the label is silent the certified applicator decides (FIFRA 2(ee))."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from accounts.refusals import Refused
from sites.rules.places import PestGroup
from tests.treatments.rules.label_cases import DAY, LABEL, USE, only
from treatments.rules.label_checks import Decision
from treatments.rules.label_checks.decisions import to_decide
from treatments.rules.products import Method, Severity

NOON = datetime(2026, 9, 10, 16, 0, tzinfo=UTC)
SILENT = replace(USE, method=Method.VOID, pests={"Cluster fly": PestGroup.FLIES})


def signed(**changes: Any) -> Decision:
    values: dict[str, Any] = {
        "method": Method.VOID,
        "pests": frozenset({"Cluster fly", "House fly"}),
        "is_allowed": True,
        "by": "Terry Technician",
        "license_number": "C-7",
        "on": DAY,
        "at": NOON,
        "reason": "Wall voids are open.",
    }
    return Decision(**(values | changes))


@pytest.mark.parametrize("code", ["method", "pest"])
def test_a_yes_is_a_note_with_who_signed(code: str) -> None:
    found = only(code, use=replace(SILENT, decisions=(signed(),)))
    assert (found.severity, found.to_do) == (Severity.NOTE, "")
    assert "Allowed by Terry Technician, license C-7, on Sep 10, 2026: Wall" in found.sentence


@pytest.mark.parametrize("code", ["method", "pest"])
def test_a_no_refuses(code: str) -> None:
    found = only(code, use=replace(SILENT, decisions=(signed(is_allowed=False),)))
    assert found.severity == Severity.REFUSE
    assert "Not allowed by Terry Technician" in found.sentence
    assert found.to_do


def test_the_last_word_counts_in_whatever_order() -> None:
    later = signed(is_allowed=False, at=NOON + timedelta(minutes=1))
    for words in ((signed(), later), (later, signed())):
        assert only("method", use=replace(SILENT, decisions=words)).severity == Severity.REFUSE


@pytest.mark.parametrize(
    "other",
    [
        {"method": Method.FOAM},  # another method was decided
        {"pests": frozenset({"House fly"})},  # this pest was not
        {"pests": frozenset()},
    ],
)
def test_another_decision_leaves_the_warning(other: dict[str, Any]) -> None:
    use = replace(SILENT, decisions=(signed(**other),))
    assert only("method", use=use).severity == Severity.WARN
    assert only("pest", use=use).severity == Severity.WARN


@pytest.mark.parametrize(
    "facts",
    [
        replace(LABEL, only_these=True),
        replace(LABEL, prohibited_methods=frozenset({Method.VOID})),
    ],
)
def test_nobody_allows_what_the_label_forbids(facts: Any) -> None:
    """No role overrides a refusal."""
    use = replace(SILENT, decisions=(signed(),))
    assert only("method", facts, use).severity == Severity.REFUSE
    with pytest.raises(Refused) as refused:
        to_decide(facts, use.method, use.pests)
    assert refused.value.code == "forbidden"


def test_a_state_may_refuse_what_the_label_is_silent_about() -> None:
    use = replace(SILENT, decisions=(signed(),), allows_unlisted_method=Severity.REFUSE)
    assert only("method", use=use).severity == Severity.REFUSE


def test_what_there_is_to_decide() -> None:
    listed = {"Boxelder bug": PestGroup.OVERWINTERING, "Carpenter ant": PestGroup.ANTS}
    assert to_decide(LABEL, Method.VOID, listed) == frozenset()
    assert to_decide(LABEL, Method.SPOT, listed | SILENT.pests) == {"Cluster fly"}
    with pytest.raises(Refused) as refused:
        to_decide(LABEL, Method.SPOT, listed)
    assert refused.value.code == "nothing_to_decide"


def test_without_name_and_reason_the_license_speaks() -> None:
    """What goes into the log holds no name and no free text (DEVELOPERS.md, Personal values)."""
    kept = signed(by="", reason="")
    found = only("method", use=replace(SILENT, decisions=(kept,)))
    assert found.sentence.endswith("Allowed by the holder of license C-7, on Sep 10, 2026")
