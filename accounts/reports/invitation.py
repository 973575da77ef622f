"""The mail that invites somebody."""

from __future__ import annotations

from dataclasses import dataclass

SUBJECT = "Your invitation to Eaveline"


@dataclass(frozen=True)
class InvitationMail:
    """Who is invited by which firm, and the link; `days` it stays good."""

    full_name: str
    branch: str
    url: str
    days: int


def invitation_text(mail: InvitationMail) -> str:
    """The body of the invitation, as plain text."""
    return (
        f"{mail.full_name},\n\n"
        f"{mail.branch} has made an account for you in Eaveline. Set your password here:\n\n"
        f"{mail.url}\n\n"
        f"The link works once and for {mail.days} days. After that, ask your office for a new "
        "one.\nIf you did not expect this mail, delete it: nothing happens without the link.\n"
    )
