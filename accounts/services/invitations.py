"""The one-time link by which a person sets the first password."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.core.mail import send_mail
from django.db import transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_decode, urlsafe_base64_encode

from accounts.models import Person
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.reports.invitation import SUBJECT, InvitationMail, invitation_text
from accounts.selectors.people import person_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from collections.abc import Iterable

log = logging.getLogger("accounts.invitations")
DAY_S = 86_400


@dataclass(frozen=True)
class Invitation:
    """Who was invited, and the path of the link that works once."""

    person: Person
    path: str

    @property
    def url(self) -> str:
        """The whole address of the link."""
        return f"{settings.BASE_URL.rstrip('/')}{self.path}"


def invitation_for(person: Person) -> Invitation:
    """Make the link; it dies with the first password, which is part of what its token signs."""
    uid = urlsafe_base64_encode(force_bytes(person.pk))
    token = default_token_generator.make_token(person)
    return Invitation(person, reverse("invitation", args=[uid, token]))


def invite_again(*, person_id: int, by: Person | None) -> Invitation:
    """Make a new link for somebody who has not set a password yet.

    Refused: somebody who has a password (they reset it by e-mail), somebody who left, and
    somebody with roles unless a manager asks, since who holds the link becomes that person.
    """
    require(by, Permission.EDIT_PEOPLE)
    with transaction.atomic():
        person = person_for(by, person_id)
        if person.roles:
            require(by, Permission.GRANT_ROLES)
        _refuse_settled(person)
        note_event(by=by, act="person_invited_again", thing=person)
    return invitation_for(person)


def _refuse_settled(person: Person) -> None:
    if not person.is_active:
        raise Refused("left", f"{person.full_name} is not active. Bring them back first.")
    if person.has_usable_password():
        raise Refused(
            "has_password",
            f"{person.full_name} has set a password. A forgotten one is set anew by e-mail from "
            "the sign-in page.",
        )


def mail_invitation(invitation: Invitation) -> bool:
    """Mail the link; False, with a line in the log, when the mail server did not take it."""
    person = invitation.person
    mail = InvitationMail(
        full_name=person.full_name,
        branch=person.branch.name,
        url=invitation.url,
        days=settings.PASSWORD_RESET_TIMEOUT // DAY_S,
    )
    try:
        return send_mail(SUBJECT, invitation_text(mail), None, [person.email]) == 1
    except OSError as failure:  # no server, no route, or a refusal in its own protocol
        log.warning("invitation of person %s not mailed: %s", person.pk, failure)
        return False


def invited_person(uid: str, token: str) -> Person:
    """Who a link invites; refused when it was used, is too old or was never made."""
    return _invited(Person.objects.filter(is_active=True), uid, token)


def accept_invitation(*, uid: str, token: str, password: str) -> Person:
    """Set the first password by a link, once.

    Refused: a link that was used, is too old or was never made; a password that is too short,
    common or like the person's own name. The row is locked, so that two at once cannot both.
    """
    with transaction.atomic():
        locked = Person.objects.filter(is_active=True).select_for_update(of=("self",))
        person = _invited(locked, uid, token)
        _refuse_weak(password, person)
        person.set_password(password)
        person.save(update_fields=["password"])
        note_event(by=person, act="invitation_accepted", thing=person)
    return person


def _invited(people: object, uid: str, token: str) -> Person:
    person = people.filter(pk=_key(uid)).first()  # type: ignore[attr-defined]
    if person is None or not default_token_generator.check_token(person, token):
        raise Refused(
            "invitation",
            "This invitation was used already or is too old. If you have set your password, sign "
            "in; otherwise ask your office for a new link.",
        )
    return person  # type: ignore[no-any-return]


def _key(uid: str) -> int | None:
    try:
        return int(urlsafe_base64_decode(uid).decode())
    except (ValueError, UnicodeDecodeError):
        return None


def _refuse_weak(password: str, person: Person) -> None:
    try:
        validate_password(password, person)
    except ValidationError as failure:
        sentences: Iterable[str] = failure.messages
        raise Refused("password", " ".join(sentences), field="password") from failure
