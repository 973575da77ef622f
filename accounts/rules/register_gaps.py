"""What the register lacks: things that do not run out because they are not there.

That a noncertified applicator works under a certified one, with a qualification record, is 40 CFR
171.201 (read) and counts for restricted use; states ask for more, by their own rules. That a
business license and insurance are among what inspectors ask for: reference/regulations.md 4.1.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from accounts.rules.training import Qualified


@dataclass(frozen=True)
class HeldLicense:
    """A license in force: `in_charge` names who supervises, `is_backed` when they are certified."""

    state: str
    kind: str
    is_certified: bool
    in_charge: str = ""
    is_backed: bool = False


def person_gaps(licenses: Collection[HeldLicense], training: Qualified) -> tuple[str, ...]:
    """What a technician lacks on a day, in sentences."""
    if not licenses:
        return ("No license in force: no visit can be booked.",)
    others = [one for one in licenses if not one.is_certified]
    found = [sentence for one in others if (sentence := _in_charge(one))]
    if len(others) == len(licenses) and training != Qualified.IN_FORCE:
        found.append("No training in force for restricted use under supervision.")
    return tuple(found)


def _in_charge(one: HeldLicense) -> str:
    if not one.in_charge:
        return f"{one.kind} in {one.state} with no certified applicator in charge."
    if not one.is_backed:
        return f"{one.in_charge} is in charge, but holds no certificate in force in {one.state}."
    return ""


def branch_gaps(has_license: bool, is_insured: bool) -> tuple[str, ...]:
    """What a branch lacks on a day, in sentences."""
    said = (
        ("" if has_license else "No business license in force is entered."),
        ("" if is_insured else "No liability insurance in force is entered."),
    )
    return tuple(one for one in said if one)
