"""Invite a manager from the command line: how a new firm, or a locked-out one, gets in."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from accounts.permissions import Role
from accounts.refusals import Refused
from accounts.services.invitations import Invitation, mail_invitation
from accounts.services.openings import open_first_branch
from accounts.services.people import invite_person


class Command(BaseCommand):
    """Enter a manager, with the first branch when there is none, and print the one-time link."""

    help = "Invite a manager; opens the first branch when there is none. Prints the one-time link."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--email", required=True)
        parser.add_argument("--name", required=True, help="first and last name")
        parser.add_argument("--branch", default="", metavar="NAME", help="needed with several")
        parser.add_argument("--state", default="", help="two letters, for a new branch")
        parser.add_argument("--phone", default="")
        parser.add_argument("--mail", action="store_true", help="also send the link by e-mail")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            invitation = _invite(options)
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"{invitation.person.full_name} sets a password here, once:")
        self.stdout.write(invitation.url)
        if options["mail"] and not mail_invitation(invitation):
            self.stderr.write("The mail was not sent. Hand the link over yourself.")


@transaction.atomic
def _invite(options: dict[str, Any]) -> Invitation:
    branch = open_first_branch(name=options["branch"], state=options["state"])
    return invite_person(
        email=options["email"],
        full_name=options["name"],
        phone=options["phone"],
        roles={Role.MANAGER},
        branch_id=branch.pk,
        by=None,
    )
