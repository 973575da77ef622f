"""Which respirators a person's papers cover, and which ones a label asks for.

29 CFR 1910.134 (from memory, unverified): (e) medical evaluation is of the person, (f) the fit
test of one make, model and size, (d)(3) cartridges are changed by a schedule.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from accounts.rules.day_words import short_day


class RespiratorKind(StrEnum):
    """The kinds that papers are kept for: a list of our own, closed."""

    FILTERING_FACEPIECE = "filtering_facepiece"
    HALF_PARTICULATE = "half_particulate"
    HALF_VAPOR = "half_vapor"
    FULL_PARTICULATE = "full_particulate"
    FULL_VAPOR = "full_vapor"
    POWERED_AIR = "powered_air"
    SUPPLIED_AIR = "supplied_air"
    SELF_CONTAINED = "self_contained"


K = RespiratorKind
KIND_WORDS: Mapping[RespiratorKind, str] = {
    K.FILTERING_FACEPIECE: "Filtering facepiece (N95 and like)",
    K.HALF_PARTICULATE: "Half-face with particulate filters",
    K.HALF_VAPOR: "Half-face with organic-vapor cartridges",
    K.FULL_PARTICULATE: "Full-face with particulate filters",
    K.FULL_VAPOR: "Full-face with organic-vapor cartridges",
    K.POWERED_AIR: "Powered air-purifying",
    K.SUPPLIED_AIR: "Supplied air",
    K.SELF_CONTAINED: "Self-contained breathing apparatus (SCBA)",
}
# the others are thrown away whole, or bring their own air
WITH_CARTRIDGE = frozenset(
    {K.HALF_PARTICULATE, K.HALF_VAPOR, K.FULL_PARTICULATE, K.FULL_VAPOR, K.POWERED_AIR}
)
_PARTICULATE = {"half": K.HALF_PARTICULATE, "full": K.FULL_PARTICULATE}
_VAPOR = {"half": K.HALF_VAPOR, "full": K.FULL_VAPOR}
_VAPOR_WORDS = re.compile(r"organic[- ]vapou?r|\bOV\b", re.I)
_PARTICLE_WORDS = re.compile(r"particulate|\bdust\b|\bHEP?A?\b|\b[NRP]-?(?:95|99|100)\b", re.I)
_PARTICLE_CLASS = re.compile(r"\b[NRP]-?(?:95|99|100)\b", re.I)
_FACEPIECE = re.compile(r"filtering face", re.I)
_CHOICE = re.compile(r"\bor\b|;", re.I)
_FACES = {
    "half": re.compile(r"\bhalf[- ]?(?:face|mask)", re.I),
    "full": re.compile(r"\bfull[- ]?(?:face|mask)", re.I),
}
_OWN_AIR = {
    K.POWERED_AIR: re.compile(r"powered[- ]air|\bPAPR\b", re.I),
    K.SUPPLIED_AIR: re.compile(r"supplied[- ]air|\bair[- ]?line\b", re.I),
    K.SELF_CONTAINED: re.compile(r"self[- ]contained|\bSCBA\b", re.I),
}


@dataclass(frozen=True)
class Papers:
    """One respirator of one person; each paper holds through its day.

    `respirator` is its make, model and size; `kind` None where only words were entered;
    `cartridge_until` None for a kind without cartridges.
    """

    respirator: str
    medical_until: date
    fit_test_until: date
    cartridge_until: date | None
    kind: RespiratorKind | None = None

    @property
    def kind_words(self) -> str:
        return KIND_WORDS[self.kind] if self.kind else "kind not named"


def kinds_named(words: str) -> tuple[RespiratorKind, ...]:
    """The kinds that words name, any one of which will do; empty when they name none we know.

    Cartridges without a face are of either face; a face without cartridges takes either; what
    stands beside a kind with its own air counts only as another choice.
    """
    own_air = {kind for kind, pattern in _OWN_AIR.items() if pattern.search(words)}
    cartridges = _cartridges(words)
    faces = [face for face, pattern in _FACES.items() if pattern.search(words)]
    if own_air and not (cartridges and _CHOICE.search(words)):
        return _in_order(own_air)
    found = own_air | _facepieces(words, bool(faces))
    if not faces and not found and _VAPOR in cartridges:
        faces = list(_FACES)
    found |= {of[face] for face in faces for of in cartridges or (_VAPOR, _PARTICULATE)}
    return _in_order(found)


def _cartridges(words: str) -> tuple[Mapping[str, RespiratorKind], ...]:
    """A cartridge against vapor has its own filter: particles beside it name no other kind."""
    if _VAPOR_WORDS.search(words):
        return (_VAPOR,)
    return (_PARTICULATE,) if _PARTICLE_WORDS.search(words) else ()


def _facepieces(words: str, has_face: bool) -> set[RespiratorKind]:
    is_one = _FACEPIECE.search(words) or (not has_face and _PARTICLE_CLASS.search(words))
    is_filter_of_cartridge = not _FACEPIECE.search(words) and _VAPOR_WORDS.search(words)
    return {K.FILTERING_FACEPIECE} if is_one and not is_filter_of_cartridge else set()


def _in_order(found: set[RespiratorKind]) -> tuple[RespiratorKind, ...]:
    return tuple(kind for kind in RespiratorKind if kind in found)


def words_of(kinds: Collection[RespiratorKind]) -> str:
    """Kinds in a sentence: half-face with particulate filters or supplied air."""
    words = [KIND_WORDS[kind] for kind in kinds]
    return " or ".join(one[0].lower() + one[1:] for one in words)


def newest_of_each(papers: Sequence[Papers]) -> tuple[Papers, ...]:
    """The papers that count, of those given newest first: one of each kind."""
    found: dict[RespiratorKind | None, Papers] = {}
    for paper in papers:
        found.setdefault(paper.kind, paper)
    return tuple(found.values())


def medical_until(papers: Sequence[Papers]) -> date | None:
    """Until when a person is cleared, for every kind: what the newest paper says."""
    return papers[0].medical_until if papers else None


def held(papers: Sequence[Papers], kinds: Collection[RespiratorKind], on: date) -> Papers | None:
    """The papers, newest first, that hold on a day for one of the kinds; for any without kinds."""
    fitting = _fitting(papers, kinds)
    return next((one for one in fitting if not ended(one, medical_until(papers), on)), None)


def gaps(papers: Sequence[Papers], kinds: Collection[RespiratorKind], on: date) -> tuple[str, ...]:
    """What is missing or run out on a day, in words; empty when one of the kinds may be worn."""
    if not papers:
        return ("no medical clearance, fit test and cartridge date are on file",)
    medical = medical_until(papers)
    found = [ended(one, medical, on) for one in _fitting(papers, kinds)]
    if not found:
        return (f"no fit test is on file for {words_of(kinds)}",)
    return min(found, key=len)


def _fitting(papers: Sequence[Papers], kinds: Collection[RespiratorKind]) -> tuple[Papers, ...]:
    return tuple(one for one in newest_of_each(papers) if not kinds or one.kind in kinds)


def ended(paper: Papers, medical: date | None, on: date) -> tuple[str, ...]:
    """What of one paper ran out before a day, with the person's clearance; empty when it holds."""
    ends = (
        ("the medical clearance", medical),
        ("the fit test", paper.fit_test_until),
        ("the cartridge", paper.cartridge_until),
    )
    return tuple(
        f"{name} ran out on {short_day(end, True)}" for name, end in ends if end and end < on
    )
