"""Who a session belongs to."""

from __future__ import annotations

from typing import Any

from allauth.account.auth_backends import AuthenticationBackend
from django.db.models import F

from accounts.models import Person
from accounts.permissions import Role


class WithRoles(AuthenticationBackend):  # type: ignore[misc]
    """The sign-in of the package; a request gets its person with branch and roles in one query."""

    def get_user(self, user_id: Any) -> Person | None:
        """Return the person of a session; None where there is none, or none who may sign in."""
        people = Person.objects.select_related("branch").filter(pk=user_id)
        rows = list(people.annotate(granted=F("role_grants__role")))
        if not rows or not self.user_can_authenticate(rows[0]):
            return None
        person: Person = rows[0]
        person.roles = frozenset(Role(row.granted) for row in rows if row.granted)
        return person
