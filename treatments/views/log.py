"""The page that proves the log, and the bundle for an inspector."""

from __future__ import annotations

from tempfile import TemporaryFile
from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from treatments.forms.bundles import BundleForm
from treatments.rules.bundles import BundleScope
from treatments.selectors import log
from treatments.selectors.bundles import branch_choices
from treatments.selectors.log_keys import key_fingerprint
from treatments.services.bundles import export_bundle


@requires(Permission.VERIFY_LOG)
@require_http_methods(["GET", "POST"])
def proof(request: HttpRequest) -> HttpResponse:
    """Show size, root and last signed head of every branch's log; a POST verifies them all."""
    now = timezone.now()
    results = log.verify_all(key=key_fingerprint(), now=now) if request.method == "POST" else ()
    broken = [result for result in results if not result.is_whole]
    shown = {"results": results, "broken": len(broken), "verified_at": now}
    return render(request, "treatments/log.html", {**_page(None), **shown})


@requires(Permission.EXPORT_BUNDLE)
@require_POST
def bundle(request: HttpRequest) -> HttpResponseBase:
    """Hand over the records of some days with their proofs, as one file."""
    page = _page(request.POST)
    form: BundleForm = page["form"]
    if not form.is_valid():
        return render(request, "treatments/log.html", page, status=422)
    asked = form.cleaned_data
    scope = BundleScope(asked["since"], asked["until"], asked["branch"])
    file = TemporaryFile()  # noqa: SIM115 -- the answer closes it when it was sent
    export_bundle(scope=scope, by=person_of(request), now=timezone.now(), out=file)
    name = f"inspection-{scope.since}-{scope.until}.zip"
    return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")


def _page(typed: Any) -> dict[str, Any]:
    form = BundleForm(typed, branches=branch_choices())
    return {"heads": log.heads(), "key": key_fingerprint(), "form": form}
