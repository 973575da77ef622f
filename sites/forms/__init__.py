"""What people type about properties, units, wishes and zones."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.forms import day_field, row_field
from sites.models import Pest
from sites.rules.identification.words import (
    ADVICE_WORDS,
    CONFIDENCE_WORDS,
    KIND_WORDS,
    Confidence,
)
from sites.rules.places import (
    CAUTION_WORDS,
    CORNERS_WORDS,
    EXPOSURE_WORDS,
    GEOMETRY_WORDS,
    PEST_GROUP_WORDS,
    PLACE_WORDS,
    PREFERENCE_WORDS,
    SITE_WORDS,
    SURFACE_WORDS,
    choices,
)

Choices = Iterable[tuple[Any, str]]


def _coordinate(label: str, most: int, help_text: str = "") -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        required=False,
        min_value=-most,
        max_value=most,
        max_digits=9,
        decimal_places=6,
        help_text=help_text,
    )


def _length(label: str, help_text: str, *, required: bool = False) -> forms.CharField:
    """A length stays text, so that a slip comes back as it was typed."""
    pad = forms.TextInput(attrs={"inputmode": "decimal"})
    return forms.CharField(
        label=label, max_length=40, required=required, help_text=help_text, widget=pad
    )


def _mm(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, required=False, min_value=0, max_value=2000, max_digits=6, decimal_places=2
    )


class PhotosInput(forms.FileInput):
    """Several files at once."""

    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """Any number of photos; what they are is looked at when they are kept."""

    def __init__(self) -> None:
        super().__init__(
            label="Photos",
            required=False,
            allow_empty_file=True,
            widget=PhotosInput(attrs={"accept": "image/*"}),
            help_text="Up to six. They are kept smaller and without the place they were taken.",
        )

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        return [super(PhotosField, self).clean(one) for one in data or []]


class PropertyForm(forms.Form):
    """A service address."""

    street = forms.CharField(label="Street", max_length=200)
    city = forms.CharField(label="Municipality", max_length=100)
    state = forms.CharField(label="State", max_length=20, help_text="Two letters: OH.")
    zip_code = forms.CharField(label="ZIP code", max_length=12)
    county = forms.CharField(label="County", max_length=100, required=False)
    structure = forms.CharField(
        label="Structure",
        max_length=200,
        required=False,
        help_text="Brick on slab, 1987, for example.",
    )
    site_kind = forms.ChoiceField(
        label="Kind of site",
        choices=[("", "Not noted"), *choices(SITE_WORDS)],
        required=False,
        help_text="Labels and state rules speak of schools and day care.",
    )
    branch = row_field("Branch", help_text="It decides log, license state and time zone.")
    latitude = _coordinate("Latitude", 90, "For the drive between stops.")
    longitude = _coordinate("Longitude", 180)

    def __init__(self, *args: Any, branches: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["branch"].choices = list(branches)  # type: ignore[attr-defined]


class WaterForm(forms.Form):
    """How far water is."""

    distance_ft = forms.DecimalField(
        label="Shortest way to water, ft",
        required=False,
        min_value=0,
        max_digits=7,
        decimal_places=1,
        help_text="Pond, stream or drain to the nearest treated ground. Empty: not measured.",
    )
    measured_by = forms.CharField(label="Measured by", max_length=120, required=False)
    measured_on = day_field("Measured on", required=False)


class AccessForm(forms.Form):
    """How one gets in."""

    gate_code = forms.CharField(label="Gate code", max_length=40, required=False)
    lock_box = forms.CharField(label="Lock box", max_length=40, required=False)
    key_tag = forms.CharField(
        label="Key tag", max_length=40, required=False, help_text="The number on our key board."
    )
    parking = forms.CharField(label="Parking", max_length=200, required=False)
    ask_for = forms.CharField(label="Who to ask", max_length=120, required=False)
    notes = forms.CharField(
        label="Notes", max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 4})
    )


class CautionForm(forms.Form):
    """Something to watch for."""

    kind = forms.ChoiceField(label="What to watch for", choices=choices(CAUTION_WORDS))
    note = forms.CharField(
        label="Note",
        max_length=200,
        required=False,
        help_text="Where, how far. Never a health condition, a name or an age.",
    )


class PreferenceForm(forms.Form):
    """What the customer asked for or refused."""

    kind = forms.ChoiceField(label="What was asked for", choices=choices(PREFERENCE_WORDS))
    note = forms.CharField(
        label="Note",
        max_length=200,
        required=False,
        help_text="Where a product is refused: which one.",
    )
    is_hard = forms.BooleanField(
        label="The customer insists: it is checked like a label rule", required=False
    )
    unit = row_field("Unit", required=False)
    said_by = forms.CharField(label="Who said so", max_length=120)
    said_on = day_field("Said on")

    def __init__(self, *args: Any, units: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        offered = [("", "The whole property"), *units]
        self.fields["unit"].choices = offered  # type: ignore[attr-defined]


class UnitForm(forms.Form):
    """An apartment or suite."""

    number = forms.CharField(label="Number", max_length=20)
    floor = forms.CharField(label="Floor", max_length=20, required=False)
    is_occupied = forms.BooleanField(label="Somebody lives or works there", required=False)
    occupant = row_field(
        "Occupant", required=False, help_text="A contact of this customer; add one first."
    )

    def __init__(self, *args: Any, contacts: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        offered = [("", "Nobody named"), *contacts]
        self.fields["occupant"].choices = offered  # type: ignore[attr-defined]


class ZoneForm(forms.Form):
    """A zone as measured; lengths stay text, so that what was typed is read by one rule."""

    name = forms.CharField(
        label="Name", max_length=80, help_text="North foundation band, for example."
    )
    place = forms.ChoiceField(label="Place", choices=choices(PLACE_WORDS))
    geometry = forms.ChoiceField(label="Measured as", choices=choices(GEOMETRY_WORDS))
    length_unit = forms.ChoiceField(label="Lengths in", choices=[("ft", "feet"), ("m", "meters")])
    wall_run = _length(
        "Run along the wall",
        "For a count of places: how many. For a space: its length.",
        required=True,
    )
    height_up = _length("Height up", "Empty counts as 0.")
    width_out = _length("Width out", "Empty counts as 0.")
    runs = forms.CharField(
        label="Wall runs, one a line",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Name and length: north wall 40. Together they are the whole run; each can be "
        "left out of a treatment with its reason. Empty: the zone is treated whole.",
    )
    corners = forms.ChoiceField(label="Outside corners", choices=choices(CORNERS_WORDS))
    surface = forms.ChoiceField(label="Surface", choices=choices(SURFACE_WORDS))
    exposure = forms.ChoiceField(label="Exposure", choices=choices(EXPOSURE_WORDS))
    is_rain_protected = forms.BooleanField(label="Protected from rain", required=False)
    is_over_impervious = forms.BooleanField(label="Over concrete or asphalt", required=False)


class PestForm(forms.Form):
    """A pest that labels name."""

    common_name = forms.CharField(
        label="Common name",
        max_length=80,
        error_messages={"required": "write the name that labels use."},
    )
    scientific_name = forms.CharField(label="Scientific name", max_length=120, required=False)
    group = forms.ChoiceField(
        label="Group",
        choices=choices(PEST_GROUP_WORDS),
        help_text="Protection of a zone is kept for the group.",
    )
    kind = forms.ChoiceField(label="Kind", choices=Pest.Kind.choices)


class IdentificationForm(forms.Form):
    """What the person decides about the candidates; what was seen stands in the address."""

    client_ref = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid.uuid4,
        error_messages=dict.fromkeys(
            ("invalid", "required"), "This form has lost its number. Open this page again."
        ),
    )
    taxon = forms.ChoiceField(
        label="It is",
        required=False,
        error_messages={"invalid_choice": "choose one from this list."},
    )
    confidence = forms.ChoiceField(
        label="How sure are you?",
        choices=choices(CONFIDENCE_WORDS),
        initial=Confidence.LIKELY,
        widget=forms.RadioSelect,
    )
    zone = row_field("Zone", required=False)
    found_where = forms.CharField(
        label="Found where", max_length=120, required=False, help_text="South bedroom window."
    )
    photos = PhotosField()
    specimen_kept = forms.BooleanField(label="A specimen is kept", required=False)
    note = forms.CharField(
        label="Note", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, taxa: Choices, zones: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        offered = [*taxa, ("", "Not settled: somebody else should look")]
        self.fields["taxon"].choices = offered  # type: ignore[attr-defined]
        self.fields["zone"].choices = [("", "No zone"), *zones]  # type: ignore[attr-defined]


class TaxonForm(forms.Form):
    """An animal of the key, with the answers it shows to every question."""

    common_name = forms.CharField(label="Common name", max_length=80)
    scientific_name = forms.CharField(label="Scientific name", max_length=120, required=False)
    kind = forms.ChoiceField(label="Kind", choices=choices(KIND_WORDS))
    description = forms.CharField(
        label="What it is like",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In your own words.",
    )
    advice = forms.MultipleChoiceField(
        label="Advice",
        choices=choices(ADVICE_WORDS),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    advice_text = forms.CharField(
        label="What to do",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    needs_specimen = forms.BooleanField(label="A second person must confirm it", required=False)
    mm_low = _mm("Shortest, mm")
    mm_high = _mm("Longest, mm")
    source = forms.CharField(
        label="Where these answers are from",
        max_length=200,
        required=False,
        help_text="Publication and year, or who knows it. Kept with every answer ticked now.",
    )

    def __init__(self, *args: Any, traits: Iterable[Any], **more: Any) -> None:
        super().__init__(*args, **more)
        for trait in traits:
            self.fields[f"trait_{trait.code}"] = forms.MultipleChoiceField(
                label=trait.name,
                choices=list(trait.values.items()),
                required=False,
                widget=forms.CheckboxSelectMultiple,
                help_text="Tick all it may show; none: not known, says nothing.",
            )

    def entered(self) -> dict[str, Any]:
        """The fields with the answers to every question under `traits`."""
        mark = "trait_"
        facts = {k: v for k, v in self.cleaned_data.items() if not k.startswith(mark)}
        traits = {
            name.removeprefix(mark): tuple(value)
            for name, value in self.cleaned_data.items()
            if name.startswith(mark)
        }
        return facts | {"advice": tuple(facts["advice"]), "traits": traits}


class TraitForm(forms.Form):
    """A question of the key."""

    name = forms.CharField(label="Name", max_length=60, help_text="One or two words: Wing edge.")
    question = forms.CharField(label="Question", max_length=160)
    help_text = forms.CharField(label="Help", max_length=200, required=False)
    answers = forms.CharField(
        label="Answers to add, one a line",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="Answers that are there stay: identifications were made with them.",
    )
