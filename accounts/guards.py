"""Closed by default: every view says which permission opens it, or why it is open to all."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from hashlib import sha256
from typing import TYPE_CHECKING, Any, cast
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.utils.cache import patch_cache_control

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.inspectors import visit_at_the_desk

if TYPE_CHECKING:
    from accounts.models import Person

View = Callable[..., HttpResponseBase]
VISIT_KEY = "inspector_visit"
DESK_SHUT = (
    "The inspection desk opens by a link that the manager gives for one day. Ask for a new one."
)


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


def guests_only(
    key: str,
    find: Callable[[object, datetime], Any],
    shut: Callable[[HttpRequest], HttpResponseBase],
    why: str,
) -> Callable[[View], View]:
    """Open views to whom a link opened this session, while what it opened lasts.

    `find` reads the guest (who has a `branch`) by what the session keeps under `key`; without one
    `shut` answers. The view gets the guest after the request; times are shown on the clock of
    the guest's branch.
    """

    def wrap(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            guest = find(request.session.get(key), timezone.now())
            if guest is None:
                return shut(request)
            with timezone.override(ZoneInfo(guest.branch.time_zone)):
                return kept_private(view(request, guest, *args, **kwargs))

        return open_to_all(why)(guarded)

    return wrap


def _desk_is_shut(request: HttpRequest) -> HttpResponseBase:
    raise Refused("not_permitted", DESK_SHUT)


def kept_private(response: HttpResponseBase) -> HttpResponseBase:
    """Neither kept, nor found by a search engine, nor named to another site.

    Not `no-referrer`: a browser then sends `Origin: null` with a form (Fetch, "append a request
    Origin header"), which the check against forged requests refuses.
    """
    patch_cache_control(response, private=True, no_store=True)
    response["Referrer-Policy"] = "same-origin"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response


inspectors_only = guests_only(
    VISIT_KEY,
    visit_at_the_desk,
    _desk_is_shut,
    "an inspector has no account; a link for one day opened the session",
)


def refuse_too_many(action: str, key: str, most: int, seconds: int) -> None:
    """Count an act of somebody and refuse it past `most` in `seconds`; counted in the cache."""
    name = f"throttle:{action}:{sha256(key.encode()).hexdigest()}"
    cache.add(name, 0, seconds)
    try:
        count = cache.incr(name)
    except ValueError:  # it ended between the two lines
        return
    if count > most:
        raise Refused("too_many", f"Too many tries. Wait {seconds // 60} minutes and try again.")
