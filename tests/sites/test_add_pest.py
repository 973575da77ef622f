"""Entering a pest from the command line."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command

from sites.models import Pest

pytestmark = pytest.mark.django_db


def test_a_pest_is_entered_once() -> None:
    out = io.StringIO()
    call_command("add_pest", "Odorous house ant", group="ants", stdout=out)
    assert "Odorous house ant is entered" in out.getvalue()
    assert Pest.objects.get().group == "ants"
    with pytest.raises(CommandError, match="Odorous house ant"):
        call_command("add_pest", "Odorous house ant", group="ants")
