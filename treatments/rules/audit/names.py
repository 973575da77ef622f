"""Check A18: names in full, as Oregon asks for ("no initials", ORS 634.146, read)."""

from __future__ import annotations

from treatments.rules.audit.facts import RecordFacts

FULL = 2  # a given and a family name


def names(facts: RecordFacts) -> str:
    """The names of people that are one word or have only an initial where a name belongs."""
    short = [what for what, name in facts.names.items() if name and not is_full(name)]
    if not short:
        return ""
    return f"Not a name in full: {', '.join(short)}. Correct it where it is kept and in the record."


def is_full(name: str) -> bool:
    """At least two words that are more than a letter: J. R. Smith is none, Jo Ann R. Smith is."""
    words = [word for word in name.replace(".", " ").split() if len(word) > 1]
    return len(words) >= FULL
