"""The words of the key: where a value is from, what to do about an animal, how sure one is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from enum import StrEnum

UNKNOWN = "unknown"
SIZE = "size"
# house rule; what a state wants printed is the state's own text
WOOD_SENTENCE = (
    "A general pest inspection is not a wood-destroying insect or organism inspection or report. "
    "Refer to a firm licensed in that category."
)
SPECIMEN_SENTENCE = "Keep a specimen and have a second person confirm it."


class Evidence(StrEnum):
    """How a value of the key is known."""

    READ = "read"
    DERIVED = "derived"
    MEMORY = "memory"
    FIRM = "firm"


class Advice(StrEnum):
    """What one may do about an animal."""

    TREAT = "treat"
    EXCLUDE = "exclude"
    VACUUM = "vacuum"
    BAIT = "bait"
    MONITOR = "monitor"
    LEAVE = "leave"
    REFER_WOOD = "refer_wood"
    REFER_MEDICAL = "refer_medical"
    REFER_WILDLIFE = "refer_wildlife"


class TaxonKind(StrEnum):
    """What an animal is to the firm."""

    TARGET = "target"
    INVADER = "invader"
    BENEFICIAL = "beneficial"
    REFER = "refer"


class Confidence(StrEnum):
    """How sure the person is who decides."""

    CERTAIN = "certain"
    LIKELY = "likely"
    UNSURE = "unsure"


EVIDENCE_WORDS: Mapping[StrEnum, str] = {
    Evidence.READ: "read",
    Evidence.DERIVED: "worked out of what was read",
    Evidence.MEMORY: "from memory, unverified",
    Evidence.FIRM: "the firm's own",
}
ADVICE_WORDS: Mapping[StrEnum, str] = {
    Advice.TREAT: "Treat, by the label",
    Advice.EXCLUDE: "Exclude: seal it out",
    Advice.VACUUM: "Vacuum",
    Advice.BAIT: "Bait",
    Advice.MONITOR: "Monitor and mend the cause",
    Advice.LEAVE: "Leave it alone: beneficial",
    Advice.REFER_WOOD: "Refer: wood-destroying",
    Advice.REFER_MEDICAL: "Refer: medical",
    Advice.REFER_WILDLIFE: "Refer: wildlife, may be protected",
}
KIND_WORDS: Mapping[StrEnum, str] = {
    TaxonKind.TARGET: "Target pest",
    TaxonKind.INVADER: "Occasional invader",
    TaxonKind.BENEFICIAL: "Beneficial",
    TaxonKind.REFER: "Refer to a specialist",
}
CONFIDENCE_WORDS: Mapping[StrEnum, str] = {
    Confidence.CERTAIN: "Certain: the separating trait was seen",
    Confidence.LIKELY: "Likely",
    Confidence.UNSURE: "Unsure: somebody else should look",
}


def referral(advice: Collection[str]) -> str:
    """The sentence that goes with a wood-destroying finding; empty without one."""
    return WOOD_SENTENCE if Advice.REFER_WOOD in advice else ""
