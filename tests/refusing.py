"""Asking for something that must be refused."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from accounts.models import AuditEvent
from accounts.refusals import Refused


@contextmanager
def refused(code: str, field: str | None = None) -> Iterator[None]:
    """Expect a refusal with this code at this field, a sentence, and no event noted."""
    before = AuditEvent.objects.count()
    with pytest.raises(Refused) as caught:
        yield
    assert caught.value.code == code
    assert caught.value.facts.get("field") == field
    assert caught.value.sentence.endswith(".") and len(caught.value.sentence.split()) > 3
    assert AuditEvent.objects.count() == before


def refusal_of(code: str, ask: Callable[..., object], *args: object) -> Refused:
    """The refusal of a pure rule; another answer or another code fails."""
    with pytest.raises(Refused) as caught:
        ask(*args)
    assert caught.value.code == code
    return caught.value
