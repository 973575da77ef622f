"""What people type about the walls of a property and what follows from them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from sites.rules.places import (
    CORNERS_WORDS,
    EXPOSURE_WORDS,
    PLACE_WORDS,
    SURFACE_WORDS,
    Corners,
    Exposure,
    Place,
    Surface,
    choices,
)
from sites.rules.plan_walls import MOST_WALLS, TypedWall

UNITS = [("ft", "feet"), ("m", "meters")]
COLUMNS = ("order", "name", "length", "heading")
WORDS = {"order": "Number", "name": "Name", "length": "Length", "heading": "Heading"}
EMPTY_ROWS = 4
NOT_LAST = 1_000


def _cell(column: str, row: int) -> forms.Field:
    label = f"{WORDS[column]} of row {row + 1}"
    if column == "order":
        attrs = {"aria-label": label, "class": "few"}
        field = forms.IntegerField(min_value=0, max_value=NOT_LAST, required=False, label=label)
        field.widget.attrs.update(attrs)
        return field
    pad: dict[str, str] = {"aria-label": label}
    if column == "length":
        pad["inputmode"] = "decimal"
    widget = forms.TextInput(attrs=pad)
    most = 80 if column == "name" else 20
    return forms.CharField(max_length=most, required=False, label=label, widget=widget)


def _length(label: str, help_text: str = "", initial: str = "") -> forms.CharField:
    pad = forms.TextInput(attrs={"inputmode": "decimal"})
    return forms.CharField(
        label=label,
        max_length=20,
        required=False,
        help_text=help_text,
        initial=initial,
        widget=pad,
    )


class OutlineForm(forms.Form):
    """The walls of a structure, a row each; empty rows are left out.

    More rows are asked for with `more`, without saving; rows with a number go by it.
    """

    unit = forms.ChoiceField(label="Lengths in", choices=UNITS)

    def __init__(self, data: Any, *, walls: Sequence[Any], **more: Any) -> None:
        super().__init__(data, **more)
        self.size = self._rows(data, len(walls))
        for row in range(self.size):
            for column in COLUMNS:
                self.fields[f"{column}_{row}"] = _cell(column, row)
        for row, wall in enumerate(walls):
            known = {f"{name}_{row}": getattr(wall, name) for name in COLUMNS[1:]}
            self.initial.update(known, **{f"order_{row}": row + 1, "unit": wall.length_unit})

    @staticmethod
    def _rows(data: Any, known: int) -> int:
        if not data:
            return min(known + EMPTY_ROWS, MOST_WALLS + EMPTY_ROWS)
        typed = str(data.get("rows", ""))
        asked = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 4 else 0
        wanted = asked + (EMPTY_ROWS if "more" in data else 0)
        return min(max(wanted, EMPTY_ROWS), MOST_WALLS + EMPTY_ROWS)

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The cells of each row by column, for the page."""
        return [{column: self[f"{column}_{row}"] for column in COLUMNS} for row in range(self.size)]

    def typed(self) -> list[TypedWall]:
        """The rows in the order of their numbers; those without one come last."""
        entered = self.cleaned_data
        numbers = [entered[f"order_{row}"] for row in range(self.size)]
        by_number = sorted(
            range(self.size), key=lambda row: NOT_LAST + 1 if numbers[row] is None else numbers[row]
        )
        return [
            TypedWall(row, *(entered[f"{column}_{row}"] for column in COLUMNS[1:]))
            for row in by_number
        ]


class BandForm(forms.Form):
    """A band along walls of the sheet; its run is theirs."""

    name = forms.CharField(label="Name", max_length=80, initial="Foundation band")
    walls = forms.MultipleChoiceField(
        label="Along these walls", widget=forms.CheckboxSelectMultiple, required=False
    )
    height_up = _length("Height up", "Empty counts as 0.", "3")
    width_out = _length("Width out", "Empty counts as 0.", "3")
    corners = forms.ChoiceField(
        label="Corners",
        choices=choices(CORNERS_WORDS),
        initial=Corners.SIMPLE,
        help_text="Counted between walls that are ticked; an inside corner takes its overlap away.",
    )
    place = forms.ChoiceField(
        label="Place", choices=choices(PLACE_WORDS), initial=Place.FOUNDATION_WALL
    )
    surface = forms.ChoiceField(
        label="Surface", choices=choices(SURFACE_WORDS), initial=Surface.PAINTED
    )
    exposure = forms.ChoiceField(
        label="Exposure", choices=choices(EXPOSURE_WORDS), initial=Exposure.SHADED
    )
    is_rain_protected = forms.BooleanField(label="Protected from rain", required=False)
    is_over_impervious = forms.BooleanField(label="Over concrete or asphalt", required=False)

    def __init__(self, *args: Any, walls: Sequence[str], **more: Any) -> None:
        super().__init__(*args, **more)
        named = [(name, name) for name in walls]
        self.fields["walls"].choices = named  # type: ignore[attr-defined]
        self.fields["walls"].initial = list(walls)


class WaterFeatureForm(forms.Form):
    """Water on the plan, measured from a wall."""

    name = forms.CharField(label="Name", max_length=60, help_text="Fish pond, creek, well.")
    wall = forms.ChoiceField(label="Measured from", choices=())
    along = _length("From the beginning of the wall to its middle")
    away = _length("From the wall to its near edge")
    across = _length("Length along the wall")
    deep = _length("Width away from the wall")

    def __init__(self, *args: Any, walls: Sequence[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["wall"].choices = [  # type: ignore[attr-defined]
            (name, name) for name in walls
        ]
