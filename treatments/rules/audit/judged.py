"""Checks that label and rules have answered already: the judgements of an entry, by check."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from treatments.rules.audit import kinds
from treatments.rules.audit.facts import RecordFacts, Said
from treatments.rules.predicates import Fact
from treatments.rules.products import Severity
from treatments.rules.profile_words import NOT_KNOWN

VIOLATED = frozenset({Severity.VIOLATION, Severity.REFUSE})
DOUBTED = VIOLATED | {Severity.WARN}

# what a rule of a state adds to a check is a warning, and opens its item as one
ALSO_DOUBTED = frozenset({str(Fact.BEYOND_LABEL_BAND)})
# which judgements open which item; the severities that do
OPENED_BY: Mapping[str, tuple[tuple[str, ...], frozenset[Severity]]] = {
    kinds.INCOMPLETE: (("A01",), DOUBTED),
    kinds.LATE: (("A02",), DOUBTED),
    kinds.CREDENTIAL: (("license", "category", "label_category"), DOUBTED),
    kinds.RESTRICTED: (("restricted", "training", "supervisor_category"), DOUBTED),
    kinds.RATE: (("rate",), DOUBTED),
    kinds.NOT_ON_LABEL: (("version", "place", "method", "pest"), VIOLATED),
    kinds.PYRETHROID: (("height_up", "impervious_horizontal"), VIOLATED),
    kinds.BAND: (("width_out", "entry_band", *ALSO_DOUBTED), VIOLATED),
    kinds.WIND: (("wind",), DOUBTED),
    kinds.TOO_SOON: (("interval", "uses", "ingredient", "product_year"), VIOLATED),
}


def judged(facts: RecordFacts) -> dict[str, str]:
    """The sentence of each item that the judgements of an entry open, by its code."""
    found = {}
    for code, (names, severities) in OPENED_BY.items():
        rows = [one for one in facts.judged if one.code in names and _opens(one, severities)]
        said = list(dict.fromkeys(one.sentence for one in _known(rows)))
        if said:
            found[code] = " ".join(said)
    return found


def _opens(one: Said, severities: frozenset[Severity]) -> bool:
    return one.severity in (DOUBTED if one.code in ALSO_DOUBTED else severities)


def _known(rows: Iterable[Said]) -> list[Said]:
    return [one for one in rows if not one.sentence.startswith(NOT_KNOWN)]
