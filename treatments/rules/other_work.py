"""Work without a product: what it may be, and what has to be said of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum

from accounts.refusals import Refused

LONGEST_WORK = 2000


class WorkKind(StrEnum):
    """What was done instead of, or beside, putting a product down (the list is ours)."""

    INSPECTION = "inspection"
    VACUUMING = "vacuuming"
    TRAPPING = "trapping"
    SEALING = "sealing"
    SANITATION = "sanitation"
    DEVICES_SET = "devices_set"
    DEVICES_CHECKED = "devices_checked"
    HEAT_OR_COLD = "heat_or_cold"
    OTHER = "other"


WORK_KIND_WORDS: Mapping[StrEnum, str] = {
    WorkKind.VACUUMING: "Vacuuming",
    WorkKind.TRAPPING: "Trapping",
    WorkKind.SEALING: "Sealing",
    WorkKind.SANITATION: "Sanitation",
    WorkKind.DEVICES_SET: "Devices set",
    WorkKind.DEVICES_CHECKED: "Devices checked",
    WorkKind.HEAT_OR_COLD: "Heat or cold",
    WorkKind.INSPECTION: "Inspection",
    WorkKind.OTHER: "Other work",
}


def refuse_work(kinds: tuple[str, ...], done: str, *, has_product: bool) -> None:
    """Refuse work that says nothing of itself, or that stands beside a product in one record."""
    if has_product:
        raise Refused(
            "work_and_product",
            "Work without a product has a record of its own. Record the product by itself.",
        )
    unknown = [kind for kind in kinds if kind not in list(WorkKind)]
    if unknown or not kinds or len(set(kinds)) < len(kinds):
        raise Refused("work_kind", "Choose what kind of work it was from the list.", field="kinds")
    if not done.strip():
        raise Refused(
            "work_done", "Say what was done: what, how much, what was found.", field="done"
        )
    if len(done) > LONGEST_WORK:
        sentence = f"What was done has {len(done)} letters. Say it in {LONGEST_WORK:,} at most."
        raise Refused("work_done", sentence, field="done")


def work_words(kinds: Iterable[str]) -> str:
    """Vacuuming, sealing; a kind that is not known any more as it is stored."""
    known = {kind.value: words for kind, words in WORK_KIND_WORDS.items()}
    return ", ".join(known.get(one, one) for one in kinds).capitalize()
