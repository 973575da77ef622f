"""What people type about branches, people, licenses, customers and contacts."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.models import ApplicatorLicense, Branch, Contact, Customer
from accounts.models.people import KIND_CHOICES
from accounts.permissions import Role
from accounts.rules.item_kinds import ACTS_WORDS
from accounts.rules.postal import TIME_ZONES

Choices = Iterable[tuple[Any, str]]
ROLE_WORDS = [(role.value, role.value.capitalize()) for role in Role]
UNKNOWN = "this is not one of the choices; nothing was narrowed by it."
PHONE_HELP = "Ten digits, or + and the country code."


def day_field(label: str, **more: Any) -> forms.DateField:
    """A calendar day, picked or typed as 2026-11-12 or 11/12/2026."""
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "write the day as 2026-11-12 or 11/12/2026."},
        **more,
    )


def phone_field(label: str = "Phone", **more: Any) -> forms.CharField:
    """A telephone number as typed; the service reads it."""
    widget = forms.TextInput(attrs={"type": "tel", "autocomplete": "off"})
    return forms.CharField(label=label, max_length=40, required=False, widget=widget, **more)


def row_field(label: str, **more: Any) -> forms.TypedChoiceField:
    """One row of a list that the form is given when it is made."""
    return forms.TypedChoiceField(
        label=label,
        coerce=int,
        empty_value=None,
        error_messages={"invalid_choice": "choose one from this list."},
        **more,
    )


class FilterForm(forms.Form):
    """A row of choices; what cannot be read is named and left out, never an error page."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", "f-%s")
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.required = False
            field.error_messages["invalid_choice"] = UNKNOWN

    def offer(self, name: str, all_of_them: str, choices: Choices) -> None:
        self.fields[name].choices = [("", all_of_them), *choices]  # type: ignore[attr-defined]

    def wanted(self) -> dict[str, Any]:
        """Every field with what was asked; empty or unreadable values are left out."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}

    def is_narrowed(self) -> bool:
        """Say whether anything but the order was asked for."""
        return any(name != "sort" for name in self.wanted())


class BranchForm(forms.Form):
    """A shop as it stands on a notice, and where it lies."""

    name = forms.CharField(label="Name", max_length=120)
    business_license_number = forms.CharField(
        label="Business license number", max_length=60, required=False
    )
    street = forms.CharField(label="Street", max_length=200, required=False)
    city = forms.CharField(label="City", max_length=100, required=False)
    state = forms.CharField(label="State", max_length=20, help_text="Two letters: OH.")
    zip_code = forms.CharField(label="ZIP code", max_length=12, required=False)
    phone = phone_field(help_text=PHONE_HELP)
    after_hours_phone = phone_field("Phone after hours", help_text="Printed on every notice.")
    time_zone = forms.ChoiceField(
        label="Time zone", choices=[(name, name.replace("_", " ")) for name in TIME_ZONES]
    )
    units = forms.ChoiceField(label="Units", choices=Branch.Units.choices)
    latitude = forms.DecimalField(
        label="Latitude",
        required=False,
        min_value=-90,
        max_value=90,
        max_digits=9,
        decimal_places=6,
        help_text="Where the trucks start the day.",
    )
    longitude = forms.DecimalField(
        label="Longitude",
        required=False,
        min_value=-180,
        max_value=180,
        max_digits=9,
        decimal_places=6,
    )


class PersonForm(forms.Form):
    """Who somebody of the firm is."""

    full_name = forms.CharField(
        label="Full name",
        max_length=120,
        help_text="First and last name as on the license, without initials.",
    )
    email = forms.EmailField(
        label="E-mail",
        help_text="They sign in with it.",
        error_messages={"invalid": "write an address like name@firm.example."},
    )
    phone = phone_field(help_text=PHONE_HELP)
    branch = row_field("Branch")

    def __init__(self, *args: Any, branches: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["branch"].choices = list(branches)  # type: ignore[attr-defined]


class RolesForm(forms.Form):
    """What somebody may do."""

    roles = forms.MultipleChoiceField(
        label="Roles",
        choices=ROLE_WORDS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="A person may hold several. Without a role they can sign in and see nothing.",
    )

    def clean_roles(self) -> list[Role]:
        return [Role(role) for role in self.cleaned_data["roles"]]


class InviteForm(PersonForm, RolesForm):
    """A new person, and their roles when a manager asks."""

    field_order = ("full_name", "email", "phone", "branch", "roles")

    def __init__(self, *args: Any, with_roles: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        if not with_roles:
            del self.fields["roles"]


class LicenseForm(forms.Form):
    """A license as printed on its card."""

    kind = forms.ChoiceField(label="Kind of license", choices=ApplicatorLicense.Kind.choices)
    number = forms.CharField(label="License number", max_length=40)
    state = forms.CharField(label="State", max_length=20, help_text="Two letters: OH.")
    categories = forms.CharField(
        label="Categories", max_length=200, required=False, help_text="As on the license."
    )
    issued_on = day_field("Issued on")
    expires_on = day_field("Expires on", help_text="The last day it is in force.")
    supervisor = row_field(
        "Certified applicator in charge",
        required=False,
        help_text="For a registered technician or trainee.",
    )

    def __init__(self, *args: Any, people: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        offered = [("", "Nobody"), *people]
        self.fields["supervisor"].choices = offered  # type: ignore[attr-defined]


class RespiratorForm(forms.Form):
    """The papers of one respirator, each with its last day."""

    kind = forms.ChoiceField(
        label="Kind",
        choices=[("", "Choose"), *KIND_CHOICES],
        error_messages={"required": "choose the kind that was fitted."},
        help_text="A label's respirator is compared with this.",
    )
    respirator = forms.CharField(
        label="Make, model and size",
        max_length=80,
        help_text="As fitted: the fit test is of this one.",
    )
    medical_until = day_field("Medical clearance until")
    fit_test_until = day_field("Fit test until")
    cartridge_until = day_field(
        "Cartridge or filter until",
        required=False,
        help_text="The last day it may be used; empty for a kind without one.",
    )


class EndPaperForm(forms.Form):
    """Why papers no longer count."""

    reason = forms.CharField(
        label="Why they no longer count",
        max_length=200,
        error_messages={"required": "write why they no longer count."},
    )


class FirstPasswordForm(forms.Form):
    """The first password, typed twice."""

    password = forms.CharField(
        label="Password",
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least 15 characters. A sentence only you would say is good.",
    )
    again = forms.CharField(
        label="The same password again",
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_again(self) -> str:
        again: str = self.cleaned_data["again"]
        if again != self.cleaned_data.get("password", again):
            raise forms.ValidationError("the two passwords differ. Type the same one twice.")
        return again


class CustomerForm(forms.Form):
    """Who pays and whom the promise was made to."""

    name = forms.CharField(label="Name", max_length=160)
    kind = forms.ChoiceField(label="Kind", choices=Customer.Kind.choices)
    billing_address = forms.CharField(
        label="Billing address",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class NewCustomerForm(CustomerForm):
    """A customer and the branch that cares for them."""

    branch = row_field("Branch")

    def __init__(self, *args: Any, branches: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["branch"].choices = list(branches)  # type: ignore[attr-defined]


class EditCustomerForm(CustomerForm):
    """A customer and whether they still are one."""

    status = forms.ChoiceField(label="Status", choices=Customer.Status.choices)


class ContactForm(forms.Form):
    """A person at the customer's."""

    name = forms.CharField(label="Name", max_length=120)
    role = forms.ChoiceField(label="What they are to the place", choices=Contact.Role.choices)
    phone = phone_field(help_text=PHONE_HELP)
    email = forms.EmailField(
        label="E-mail",
        required=False,
        error_messages={"invalid": "write an address like name@firm.example."},
    )
    wants_notices = forms.BooleanField(label="Gets the treatment notices", required=False)
    texts_agreed_on = day_field(
        "Agreed to text messages on", required=False, help_text="Empty: no text messages."
    )


class PeopleFilter(forms.Form):
    """Which people: at work or gone, and of which branch."""

    show = forms.ChoiceField(
        label="Show",
        required=False,
        choices=[("", "At work"), ("left", "Left"), ("all", "Everybody")],
    )
    branch = row_field("Branch", required=False)

    def __init__(self, *args: Any, branches: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["branch"].choices = [("", "Every branch"), *branches]  # type: ignore[attr-defined]


class ItemFilter(forms.Form):
    """Which matters: still open or closed, of which kind."""

    show = forms.ChoiceField(
        label="Show", required=False, choices=[("", "Still open"), ("closed", "Closed")]
    )
    kind = forms.ChoiceField(label="Kind", required=False)
    acts = forms.ChoiceField(
        label="Who must act", required=False, choices=[("", "Anybody"), *ACTS_WORDS.items()]
    )

    def __init__(self, *args: Any, kinds: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["kind"].choices = [("", "Every kind"), *kinds]  # type: ignore[attr-defined]


class CloseItemForm(forms.Form):
    """What came of a matter."""

    note = forms.CharField(
        label="What was done",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It stays with the matter for whoever asks later.",
    )
