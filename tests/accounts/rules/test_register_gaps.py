"""What is missing, in sentences (40 CFR 171.201, read; reference/regulations.md 4.1)."""

from __future__ import annotations

import pytest

from accounts.rules.register_gaps import HeldLicense, branch_gaps, person_gaps
from accounts.rules.training import Qualified

CERTIFIED = HeldLicense("OH", "Certified applicator", True)
TRAINEE = HeldLicense("OH", "Trainee", False, "Owen", True)
NO_TRAINING = "No training in force for restricted use under supervision."


@pytest.mark.parametrize(
    ("licenses", "training", "said"),
    [
        ([], Qualified.IN_FORCE, ["No license in force: no visit can be booked."]),
        ([CERTIFIED], Qualified.NO_RECORD, []),
        ([TRAINEE], Qualified.IN_FORCE, []),
        ([TRAINEE], Qualified.OVER, [NO_TRAINING]),
        ([TRAINEE], Qualified.NO_RECORD, [NO_TRAINING]),
        # certified in one state is trained for the other one
        ([CERTIFIED, TRAINEE], Qualified.NO_RECORD, []),
        (
            [HeldLicense("OH", "Trainee", False)],
            Qualified.IN_FORCE,
            ["Trainee in OH with no certified applicator in charge."],
        ),
        (
            [HeldLicense("PA", "Registered technician", False, "Owen")],
            Qualified.IN_FORCE,
            ["Owen is in charge, but holds no certificate in force in PA."],
        ),
    ],
)
def test_of_a_person(licenses: list[HeldLicense], training: Qualified, said: list[str]) -> None:
    assert list(person_gaps(licenses, training)) == said


@pytest.mark.parametrize(
    ("has_license", "is_insured", "number"),
    [(True, True, 0), (False, True, 1), (True, False, 1), (False, False, 2)],
)
def test_of_a_branch(has_license: bool, is_insured: bool, number: int) -> None:
    assert len(branch_gaps(has_license, is_insured)) == number
