"""The page that proves the log."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from accounts.guards import requires
from accounts.permissions import Permission
from treatments.selectors import log


@requires(Permission.VERIFY_LOG)
@require_http_methods(["GET", "POST"])
def proof(request: HttpRequest) -> HttpResponse:
    """Show size and root of every branch's log; a POST recomputes them all."""
    results = log.verify_all() if request.method == "POST" else ()
    broken = [result for result in results if not result.is_whole]
    context = {"heads": log.heads(), "results": results, "broken": len(broken)}
    return render(request, "treatments/log.html", context)
