"""Closed by default: every view says which permission opens it, or why it is open to all."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, cast

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from accounts.permissions import Permission, require

if TYPE_CHECKING:
    from accounts.models import Person

View = Callable[..., HttpResponseBase]


def requires(permission: Permission) -> Callable[[View], View]:
    """Open a view to signed-in people whose role holds the permission; refuse the others."""

    def wrap(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            require(person_of(request), permission)
            return view(request, *args, **kwargs)

        guarded.permission = permission  # type: ignore[attr-defined]
        return guarded

    return wrap


def open_to_all(why: str) -> Callable[[View], View]:
    """Open a view to everybody, signed in or not, and say why."""

    def wrap(view: View) -> View:
        view.open_because = why  # type: ignore[attr-defined]
        return login_not_required(view)

    return wrap


def person_of(request: HttpRequest) -> Person:
    """Return who asks; behind LoginRequiredMiddleware it is always a person."""
    return cast("Person", request.user)
