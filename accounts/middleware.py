"""The one place where a refusal becomes a page."""

from __future__ import annotations

import logging
from collections.abc import Callable
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.cache import patch_cache_control

from accounts.guards import person_of
from accounts.refusals import Refused

log = logging.getLogger("accounts.refused")
STATUS = {"not_permitted": 403, "too_many": 429}


class BranchTimeMiddleware:
    """Show every instant on the clock of the person's branch; strangers see UTC."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.user.is_authenticated:
            return self.get_response(request)
        with timezone.override(ZoneInfo(person_of(request).branch.time_zone)):
            return self.get_response(request)


class PrivatePagesMiddleware:
    """Let no browser or proxy keep a page of who is signed in (RFC 9111, 5.2.2.5 and 5.2.2.7)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        is_private = request.user.is_authenticated
        response = self.get_response(request)
        if is_private or request.user.is_authenticated:
            patch_cache_control(response, private=True, no_store=True)
        return response


class RefusedMiddleware:
    """Show a refusal as a page, or as a fragment when only a fragment was asked for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, Refused):
            return None
        log.warning("refused %s %s %s", error.code, request.method, request.path)
        template = "_refused.html" if getattr(request, "htmx", False) else "refused.html"
        return render(request, template, {"refused": error}, status=STATUS.get(error.code, 422))
