"""The mail that brings the signed head of a day outside the house."""

from __future__ import annotations

from treatments.rules.signed_heads import Head


def head_subject(branch_name: str, head: Head) -> str:
    """One line, with the number of leaves."""
    return f"Log of {branch_name}: {head.size} leaves on {head.at[:10]}"


def head_text(branch_name: str, head: Head) -> str:
    """The head in words and as the line that manage.py verify_log reads."""
    return (
        f"The use log of {branch_name} has {head.size} leaves.\n\n"
        f"Root:      {head.root}\nAt:        {head.at}\nKey:       {head.key}\n"
        f"Signature: {head.signature}\n\n"
        "Keep this mail. If the log is ever cut or rewritten, it no longer leads to this root.\n"
        "The same as one line, to be put into a file of heads:\n\n"
        f"{head.line().decode()}"
    )
