"""What the paper of an agreement says."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class AgreementSheet:
    """The words of one version of an agreement; `lines` are (heading, words)."""

    number: str
    offered: str
    firm: str
    firm_lines: str
    customer: str
    address: str
    program: str
    lines: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    demo: bool
