"""How people come in: nobody signs up, people are invited."""

from __future__ import annotations

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedDoor(DefaultAccountAdapter):  # type: ignore[misc]
    """Sign-up is closed; an invitation sets the first password."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
