"""The fields of a record for zones without wall runs of which only a part was treated."""

from __future__ import annotations

from collections.abc import Sequence

from django import forms
from django.http import QueryDict

from scheduling.selectors.mix_choices import PART
from scheduling.selectors.stops import ZoneRow
from treatments.rules.applications import LONGEST_AMOUNT
from treatments.rules.wall_runs import LEFT_OUT_WORDS

REST = "rest_"  # before the key of a zone
REST_ANSWERS = (("", "Choose"), *((one.value, words) for one, words in LEFT_OUT_WORDS.items()))


def planned_parts(typed: QueryDict) -> tuple[tuple[int, str], ...]:
    """The parts of zones in an address; what no key can be is left out."""
    named = ((name.removeprefix(PART), text) for name, text in typed.items() if PART in name[:5])
    return tuple(
        (int(key), text.strip()[:LONGEST_AMOUNT])
        for key, text in named
        if key.isascii() and key.isdigit() and len(key) <= 18 and isinstance(text, str)
    )


class PartFields(forms.Form):
    """How much of each zone was treated and why not the rest; `ask_parts` adds the fields."""

    parts: Sequence[ZoneRow] = ()

    def ask_parts(self, parts: Sequence[ZoneRow]) -> None:
        """Two fields a zone: the part, empty for all of it, and why not the rest."""
        self.parts = parts
        for one in parts:
            self.fields[f"{PART}{one.pk}"] = forms.CharField(
                label=f"{one.name}: treated part, {one.part_word}",
                max_length=LONGEST_AMOUNT,
                required=False,
                initial=one.part,
                widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
                help_text=f"Of {one.size}. Empty: all of it.",
            )
            self.fields[f"{REST}{one.pk}"] = forms.ChoiceField(
                label=f"{one.name}: why not the rest",
                choices=REST_ANSWERS,
                required=False,
                help_text="The zone stays due, unless the rest needs nothing.",
            )

    @property
    def part_names(self) -> tuple[str, ...]:
        """The names of these fields."""
        return tuple(f"{kind}{one.pk}" for one in self.parts for kind in (PART, REST))

    @property
    def part_fields(self) -> list[forms.BoundField]:
        """The fields of parts, which stand folded."""
        return [self[name] for name in self.part_names]

    @property
    def other_fields(self) -> list[forms.BoundField]:
        """Every other field that is seen."""
        names = set(self.part_names)
        return [field for field in self.visible_fields() if field.name not in names]

    @property
    def has_parts(self) -> bool:
        """Whether anything stands in these fields, so that they are unfolded."""
        return any(field.value() or field.errors for field in self.part_fields)

    def parts_said(self) -> dict[int, tuple[str, str, str]]:
        """Part, unit and reason by zone, once cleaned; half of the pair is an error at the rest."""
        said = {}
        for one in self.parts:
            part, rest = (self.cleaned_data.get(f"{k}{one.pk}") for k in (PART, REST))
            if bool(part) != bool(rest):
                missing, words = (
                    (REST, "say why the rest was not treated.")
                    if part
                    else (PART, "write how much was treated, or take the reason away.")
                )
                self.add_error(f"{missing}{one.pk}", words)
            elif part and rest:
                said[one.pk] = (part, one.part_unit, rest)
        return said
