"""Which of a label's rates the firm proposes."""

from __future__ import annotations

from django.db import models

from accounts.stamps import Stamped
from treatments.models.labels import LabelUse
from treatments.rules.rate_choices import FIRM_RATE_WORDS


class FirmRate(Stamped):
    """The firm's own choice for one direction: the label stays as it is, used or not."""

    label_use = models.OneToOneField(LabelUse, on_delete=models.CASCADE, related_name="firm_rate")
    choice = models.CharField(max_length=8, choices=list(FIRM_RATE_WORDS.items()))

    def __str__(self) -> str:
        return f"{self.label_use}: {self.get_choice_display()}"
