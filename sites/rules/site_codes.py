"""The short code printed in a site logbook: read aloud, typed by hand, never guessed.

Ten letters and digits out of thirty are 30^10 codes, 49 bits; signs that are mistaken for
another one are left out. House rule.
"""

from __future__ import annotations

from collections.abc import Sequence

ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LENGTH = 10
GROUP = 5


def code_of(picks: Sequence[int]) -> str:
    """The code of ten numbers under thirty that chance has picked; others are an error."""
    if len(picks) != CODE_LENGTH:
        raise ValueError(f"a code takes {CODE_LENGTH} picks")
    return "".join(ALPHABET[pick] for pick in picks)


def printed(code: str) -> str:
    """The code as it stands on paper: `ABCDE-FGH23`."""
    return f"{code[:GROUP]}-{code[GROUP:]}"


def typed(text: str) -> str:
    """What somebody typed as the code it can be, in any case, with spaces or strokes; else ''."""
    code = "".join(sign for sign in text[:80].upper() if sign.isalnum())
    is_code = len(code) == CODE_LENGTH and all(sign in ALPHABET for sign in code)
    return code if is_code else ""
