"""Training at the desk: what qualified the applicators of the records, on the days of the work."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from accounts.rules.day_words import short_day
from accounts.rules.training import Qualified, Training, qualified
from accounts.selectors.register_as_of import Trained, trainings_until
from treatments.models import ApplicationRecord
from treatments.rules.desk import DeskList, counted
from treatments.rules.products import LicenseKind
from treatments.selectors.desk_lists import counting
from treatments.selectors.desk_records import Histories

HEAD = ("Applicator", "Training", "Met", "Counts through", "Trainer", "Records while it counted")


def training_list(histories: Histories) -> DeskList:
    """The training records of the applicators up to the last day of the work.

    A record by somebody who is not certified on a day without training in force is said; the rule
    for restricted use is 40 CFR 171.201 (read).
    """
    by_person: defaultdict[int, list[ApplicationRecord]] = defaultdict(list)
    for record in counting(histories):
        by_person[record.applicator_id].append(record)
    last = max((one.applied_on for some in by_person.values() for one in some), default=date.min)
    trained = trainings_until(by_person, last)
    rows = [_row(one, by_person[one.person_id]) for one in trained]
    bare = _without(by_person, trained)
    return DeskList(
        "training",
        "Training on those days",
        counted(len(rows), "training record"),
        HEAD,
        tuple(rows),
        tuple(_missing(bare)),
    )


def _row(one: Trained, records: list[ApplicationRecord]) -> tuple[str, ...]:
    held = one.training
    during = sum(held.met_on <= record.applied_on <= held.ends_on for record in records)
    return (
        one.name,
        one.title if one.is_signed else f"{one.title}, not signed",
        short_day(held.met_on, True),
        short_day(held.ends_on, True),
        one.trainer,
        str(during),
    )


def _without(
    by_person: dict[int, list[ApplicationRecord]], trained: list[Trained]
) -> list[ApplicationRecord]:
    """Records by somebody not certified on a day without training in force."""
    held: defaultdict[int, list[Training]] = defaultdict(list)
    for one in trained:
        held[one.person_id].append(one.training)
    return [
        record
        for person_id, records in by_person.items()
        for record in records
        if record.license_kind != LicenseKind.CERTIFIED
        and qualified(held[person_id], record.applied_on) is not Qualified.IN_FORCE
    ]


def _missing(bare: list[ApplicationRecord]) -> list[str]:
    if not bare:
        return []
    return [
        f"{counted(len(bare), 'record')} by somebody who is not a certified applicator, without a "
        "training record in force that day."
    ]
