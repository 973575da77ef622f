"""The same form of stock sent again: the first answer for the same words, else a refusal."""

from __future__ import annotations

import json
from dataclasses import dataclass
from hashlib import sha256
from typing import Any
from uuid import UUID

from accounts.refusals import Refused
from treatments.models import StockMove


@dataclass(frozen=True)
class Sent:
    """A form as it was sent: its reference, what kind of act, and every word of it."""

    client_ref: UUID | None
    act: str
    words: tuple[object, ...]

    @property
    def digest(self) -> str:
        """Hex of the SHA-256 of the act and its words."""
        text = json.dumps([self.act, self.words], sort_keys=True, default=str)
        return sha256(text.encode()).hexdigest()

    @property
    def columns(self) -> dict[str, Any]:
        """What the move keeps of it; nothing where no form was sent."""
        if self.client_ref is None:
            return {}
        return {"client_ref": self.client_ref, "client_digest": self.digest}


def first_move(sent: Sent) -> StockMove | None:
    """The move that this form made before; asked with the lot locked, or before it exists.

    Refused: the reference of a form that said something else.
    """
    if sent.client_ref is None:
        return None
    move = StockMove.objects.filter(client_ref=sent.client_ref).first()
    if move is not None and move.client_digest != sent.digest:
        raise Refused(
            "reused_reference",
            "This form was sent before with other words. Open it again and send it anew.",
        )
    return move
