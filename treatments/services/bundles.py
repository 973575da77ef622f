"""Handing over an inspection bundle, which is itself logged."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import IO, TYPE_CHECKING

from django.conf import settings
from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.reports.bundle_zip import write_bundle
from treatments.rules.bundles import BUNDLE_KIND, Bundle, BundleScope
from treatments.selectors.bundle_scopes import scope_words
from treatments.selectors.bundles import bundle_of
from treatments.services.log import append_leaf
from treatments.services.log_heads import sign_heads

if TYPE_CHECKING:
    from accounts.models import Person


READ_AT_ONCE = 1 << 20


@dataclass(frozen=True)
class HandedOver:
    """What was written: number of records, SHA-256 of the file, key, what did not agree."""

    records: int
    sha256: str
    key: str
    differences: tuple[str, ...]


def export_bundle(
    *,
    scope: BundleScope,
    by: Person | None,
    now: datetime,
    out: IO[bytes],
    demo: bool = False,
    who: str = "",
) -> HandedOver:
    """Write the bundle into an open file (read and write) and log what was handed over.

    Heads are signed first, so that it ends with a head of now. Logs that do not verify are handed
    over all the same and say so; `who` names somebody without an account. Refused: days in the
    wrong order, no log, no key.
    """
    require(by, Permission.EXPORT_BUNDLE)
    if scope.since > scope.until:
        raise Refused("bundle", "The last day is before the first one.", field="until")
    key = sign_heads(now=now).key
    bundle = bundle_of(scope, scope_words(scope), key, now, demo or settings.DEMO)
    if not bundle.logs:
        raise Refused("bundle", "No log was begun yet: it begins with the first record.")
    write_bundle(bundle, out)
    digest = _digest(out)
    _log(bundle, digest, by, now, who)
    return HandedOver(len(bundle.records), digest, key, tuple(bundle.differences))


def _digest(out: IO[bytes]) -> str:
    """SHA-256 of the whole file, which is left at its beginning."""
    digest = sha256()
    out.seek(0)
    while portion := out.read(READ_AT_ONCE):
        digest.update(portion)
    out.seek(0)
    return digest.hexdigest()


@transaction.atomic
def _log(bundle: Bundle, digest: str, by: Person | None, now: datetime, who: str) -> None:
    scope = bundle.scope.plain()
    note_event(by=by or who, act="export_bundle", thing=f"bundle:{digest}", now=now, **scope)
    for one in bundle.logs:
        count = sum(record.branch == one.head.branch for record in bundle.records)
        append_leaf(
            branch_id=one.head.branch,
            kind=BUNDLE_KIND,
            payload={"version": 1, "sha256": digest, "scope": scope, "records": count},
            record=None,
            by=by,
            now=now,
        )
