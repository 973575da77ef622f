"""Checkpoints, what a finding must say, what changed, hot spots, tasks."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from accounts.refusals import Refused
from sites.rules.checkpoints import CHECKPOINTS, Side
from sites.rules.exclusion import NewTask, refuse_task
from sites.rules.findings import NewFinding, gap_of, refuse_finding
from sites.rules.inspection_changes import Seen, changes, hot_spots
from sites.rules.places import Place

FOUND = NewFinding(uuid.UUID(int=1), 1, "doors", "evidence", "soon")
TASK = NewTask(uuid.UUID(int=1), 1, "sweep", "sweep", "firm", date(2026, 12, 1))


def test_there_are_25_checkpoints_outside_and_inside() -> None:
    assert [one.number for one in CHECKPOINTS] == list(range(1, 26))
    assert sum(one.side is Side.OUTSIDE for one in CHECKPOINTS) == 13
    assert len({one.code for one in CHECKPOINTS}) == 25
    assert all(one.look_for and one.place in list(Place) for one in CHECKPOINTS)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"checkpoint": "cellar of the neighbor"}, "checkpoint"),
        ({"kind": "ghost"}, "kind"),
        ({"severity": "??"}, "severity"),
        ({"opening": "??"}, "opening"),
        ({"condition": "??"}, "condition"),
        ({"kind": "live"}, "pest"),
        ({"kind": "condition"}, "condition"),
        ({"kind": "entry"}, "gap"),
        ({"kind": "entry", "gap": "0"}, "gap"),
        ({"kind": "entry", "gap": "2000"}, "gap"),
    ],
)
def test_a_finding_that_says_too_little_is_refused_at_its_field(
    change: dict[str, Any], field: str
) -> None:
    with pytest.raises(Refused) as caught:
        refuse_finding(replace(FOUND, **change))
    assert caught.value.facts["field"] == field


def test_a_gap_may_be_measured_at_any_finding() -> None:
    refuse_finding(FOUND)
    assert gap_of(FOUND) is None
    gap = gap_of(replace(FOUND, gap="1/4", gap_unit="in", gap_shape="hole"))
    assert gap is not None
    assert (gap.nm, gap.text) == (6_350_000, "1/4 in")


def test_other_words_are_another_form() -> None:
    assert FOUND.digest == replace(FOUND).digest
    assert FOUND.digest != replace(FOUND, note="more").digest
    assert TASK.digest != replace(TASK, price=Decimal(1)).digest


def seen(checkpoint: str, severity: str = "soon", of: str = "Mouse") -> Seen:
    return Seen(checkpoint, "evidence", of, severity, checkpoint)


def test_changes_are_told_against_the_round_before() -> None:
    before = [seen("doors"), seen("attic", "now"), seen("eaves"), seen("kitchen"), seen("mulch")]
    now = [seen("doors", "now"), seen("attic", "note"), seen("eaves"), seen("baths")]
    told = changes(before, now, {"doors", "attic", "eaves", "baths", "kitchen"})
    assert [(one.change.value, one.seen.checkpoint) for one in told] == [
        ("new", "baths"),
        ("worse", "doors"),
        ("still there", "eaves"),
        ("better", "attic"),
        ("gone", "kitchen"),
        ("not looked at again", "mulch"),
    ]


def test_the_worst_of_several_counts_and_another_pest_is_another_thing() -> None:
    told = changes(
        [seen("doors", "note"), seen("doors", "now")], [seen("doors", "soon")], {"doors"}
    )
    assert [one.change.value for one in told] == ["better"]
    told = changes([seen("doors")], [seen("doors", of="Rat")], {"doors"})
    assert [one.change.value for one in told] == ["new", "gone"]


def test_hot_spots_are_counted_by_year_against_a_plain_count() -> None:
    found = [("attic", 2024), ("doors", 2025), ("attic", 2026), ("attic", 2026), ("mulch", 2026)]
    spots = hot_spots(found)
    assert [(one.checkpoint, one.years) for one in spots] == [("attic", ((2024, 1), (2026, 2)))]
    assert spots[0].total == sum(checkpoint == "attic" for checkpoint, _ in found)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"material": "chewing gum"}, "material"),
        ({"does": "nobody"}, "does"),
        ({"due_on": date(2026, 11, 29)}, "due_on"),
        ({"price": Decimal("-0.01")}, "price"),
        ({"price": Decimal("1000000")}, "price"),
    ],
)
def test_a_task_that_cannot_be_is_refusal_of(change: dict[str, Any], field: str) -> None:
    refuse_task(TASK, date(2026, 11, 30))
    with pytest.raises(Refused) as caught:
        refuse_task(replace(TASK, **change), date(2026, 11, 30))
    assert caught.value.facts["field"] == field
