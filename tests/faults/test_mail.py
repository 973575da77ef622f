"""The short form of the fault in `mail.py`: two rounds, four senders, on both engines."""

from __future__ import annotations

import pytest

from tests.faults.mail import run


@pytest.mark.engine
@pytest.mark.django_db(transaction=True)
def test_the_mail_server_is_down_for_an_hour() -> None:
    assert list(run(rounds=2, seed=7, notices=6))[-1].endswith("none lost, none twice")
