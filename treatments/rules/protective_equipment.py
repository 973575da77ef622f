"""What to wear: the union of the label's rows for the tasks of a job."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from accounts.rules.respirators import KIND_WORDS, RespiratorKind, kinds_named
from sites.rules.places import Place
from treatments.rules.products import TASK_WORDS, Formulation, Method, Task

CONFINED = frozenset({Place.ATTIC, Place.CRAWL_SPACE})
# placed from their own package: nothing is left to clean
NOTHING_TO_CLEAN = frozenset({Formulation.BAIT, Formulation.GEL, Formulation.AEROSOL})
RESPIRATOR = re.compile(
    r"respirator|breathing apparatus|filtering face|\b[NRP]-?(?:95|99|100)\b|\bPAPR\b|\bSCBA\b",
    re.I,
)
_ITEM = r"(?:respirators?|respiratory protection|breathing apparatus)"
_NEEDED = r"(?:required|needed|necessary)"
NONE_NEEDED = re.compile(
    rf"no {_ITEM}(?: (?:(?:is|are) )?{_NEEDED})?"
    rf"|(?:an? |the )?{_ITEM}(?: (?:is|are))? not {_NEEDED}"
    rf"|{_ITEM}: ?(?:none|no|not {_NEEDED})(?: {_NEEDED})?"
    rf"|does not (?:require|need) (?:an? )?{_ITEM}",
    re.I,
)


NOT_NAMED = "not_named"
RESPIRATOR_WORDS: Mapping[str, str] = {
    **{str(kind): words for kind, words in KIND_WORDS.items()},
    NOT_NAMED: "A respirator whose kind the label does not name",
}


@dataclass(frozen=True)
class ProtectionRow:
    """One item of a label for one task, with its page.

    `respirators` are the kinds of RESPIRATOR_WORDS of which any one will do; none for what is not
    worn to breathe through.
    """

    task: Task
    item: str
    page: str
    respirators: tuple[str, ...] = ()


@dataclass(frozen=True)
class Worn:
    """One item to wear, with every task and page that asks for it."""

    item: str
    tasks: tuple[Task, ...]
    pages: tuple[str, ...]
    respirators: tuple[str, ...] = ()

    @property
    def kinds(self) -> tuple[RespiratorKind, ...]:
        """The kinds of respirator that will do; none where the label names no kind."""
        return tuple(kind for kind in RespiratorKind if kind in self.respirators)

    @property
    def task_words(self) -> str:
        """For which tasks: Mix and load, clean up."""
        return ", ".join(TASK_WORDS[task] for task in self.tasks).capitalize()

    @property
    def page_words(self) -> str:
        """Where the label says so: p. 2, p. 3."""
        return ", ".join(self.pages)


def tasks_of(
    *, is_mixed: bool, places: Collection[Place], method: Method, formulation: Formulation
) -> tuple[Task, ...]:
    """The tasks of a job in their order: applying always, the others where they happen.

    Mixing only with water to mix; overhead on eaves and soffits; confined in attics and crawl
    spaces and where a space is filled (its air handling is off); dust for a dust;
    clean up wherever equipment was used.
    """
    happens = {
        Task.MIX_AND_LOAD: is_mixed,
        Task.APPLY: True,
        Task.OVERHEAD: Place.EAVE_SOFFIT in places,
        Task.CONFINED: method == Method.SPACE or not CONFINED.isdisjoint(places),
        Task.DUST: method == Method.DUST or formulation == Formulation.DUST,
        Task.CLEAN_UP: is_mixed or formulation not in NOTHING_TO_CLEAN,
    }
    return tuple(task for task in Task if happens[task])


def worn(rows: Iterable[ProtectionRow], tasks: Collection[Task]) -> tuple[Worn, ...]:
    """Every item some task asks for, once, in the order of the tasks; the union."""
    found: dict[str, list[ProtectionRow]] = {}
    order = list(Task)
    for row in sorted(rows, key=lambda row: order.index(row.task)):
        if row.task in tasks:
            found.setdefault(" ".join(row.item.casefold().split()), []).append(row)
    return tuple(
        Worn(
            item=" ".join(same[0].item.split()),
            tasks=tuple(dict.fromkeys(row.task for row in same)),
            pages=tuple(dict.fromkeys(row.page for row in same)),
            respirators=tuple(dict.fromkeys(one for row in same for one in row.respirators)),
        )
        for same in found.values()
    )


def is_respirator(item: str) -> bool:
    """Whether an item is worn to breathe through; a row that says that none is needed is not.

    With a condition beside it (unless, when) such a row counts as one: nobody is let off by it.
    """
    words = " ".join(item.split()).rstrip(".")
    return bool(RESPIRATOR.search(words)) and not NONE_NEEDED.fullmatch(words)


def respirators_in(item: str) -> tuple[str, ...]:
    """What the words of an item suggest to choose; empty where nothing is breathed through."""
    if not is_respirator(item):
        return ()
    return tuple(str(kind) for kind in kinds_named(item)) or (NOT_NAMED,)
