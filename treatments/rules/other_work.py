"""Work without a product: what it may be, and what has to be said of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused
from sites.rules.units import plain

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


@dataclass(frozen=True)
class WorkAmounts:
    """How much was done in amounts that make sense without a product; None: not counted."""

    pieces: int | None = None
    minutes: int | None = None
    length: Decimal | None = None
    length_unit: str = "ft"


def with_amounts(done: str, amounts: WorkAmounts) -> str:
    """What was done, its amounts first: 12 pieces, 15 min, 6.5 ft. Vacuumed the sun room."""
    pieces, minutes, length = amounts.pieces, amounts.minutes, amounts.length
    counted = [
        f"{pieces:,} {'piece' if pieces == 1 else 'pieces'}" if pieces else "",
        f"{minutes} min" if minutes else "",
        f"{plain(length)} {amounts.length_unit}" if length else "",
    ]
    told = ", ".join(one for one in counted if one)
    return f"{told}. {done}" if told else done


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
