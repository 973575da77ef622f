"""The fields of a record that only some rules ask for, and who asks for them."""

from __future__ import annotations

from django import forms

from treatments.rules.applications import COMPASS
from treatments.selectors.asked import AskedItems

# the item of the rules that a field of the record answers
ITEM_OF = {
    "wind_mph": "wind_speed",
    "wind_m_s": "wind_speed",
    "wind_direction": "wind_direction",
    "temperature_f": "air_temperature",
    "temperature_c": "air_temperature",
    "conditions": "conditions",
    "participants": "participants",
    "location_detail": "location_detail",
    "mixing_location": "mixing_location",
    "product_supplier": "product_supplier",
}
WEATHER = ("wind_mph", "wind_m_s", "temperature_f", "temperature_c", "weather_source")
ONLY_ASKED = tuple(name for name in ITEM_OF if name not in WEATHER)


class RuleFields(forms.Form):
    """What a record holds only where a rule asks; `keep_asked` leaves out the rest."""

    wind_direction = forms.ChoiceField(
        label="Wind from",
        required=False,
        choices=[("", "Not read"), *((point, point) for point in COMPASS)],
    )
    conditions = forms.CharField(
        label="Sky and weather", max_length=80, required=False, help_text="Dry, overcast."
    )
    participants = forms.CharField(
        label="Who helped", max_length=300, required=False, help_text="Full names; empty: nobody."
    )
    location_detail = forms.CharField(
        label="Where exactly",
        max_length=300,
        required=False,
        help_text="Only where the address is not enough.",
    )
    mixing_location = forms.CharField(
        label="Where it was mixed",
        max_length=200,
        required=False,
        help_text="Only where it was mixed away from the shop.",
    )
    product_supplier = forms.CharField(
        label="Supplier of the product", max_length=120, required=False
    )

    asked: AskedItems | None = None

    def keep_asked(self, asked: AskedItems) -> None:
        """Leave out what this job needs not, and say of the rest which rule asks for it."""
        self.asked = asked
        left_out = [name for name in ONLY_ASKED if ITEM_OF[name] not in asked.by_item]
        if not asked.needs_weather:
            left_out += WEATHER
        for name in left_out:
            self.fields.pop(name, None)
        for name, item in ITEM_OF.items():
            if name in self.fields and item in asked.by_item:
                said = self.fields[name].help_text
                self.fields[name].help_text = f"{said} Asked by {asked.by_item[item]}.".strip()
