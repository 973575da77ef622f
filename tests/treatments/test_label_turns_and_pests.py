"""The label's own turn in the order of filling, and a pest that a direction names first."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest

from accounts.models import Person
from sites.models import Pest
from tests.factories import client_for, make_pest
from tests.treatments.label_entries import label_of, refused_by, register
from tests.treatments.test_label_entry import DIRECTION
from treatments.models import LabelLimit, LabelUse, LabelVersion
from treatments.rules.label_entry import NewLimit
from treatments.rules.label_file import parse, read
from treatments.rules.label_refusals import refuse_limit
from treatments.selectors.label_comparison import compared
from treatments.selectors.label_copies import label_document
from treatments.services.labels import enter_label

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TURN = {"limit": "6", "sentence": "Add this product last.", "page": "p. 7"}


@pytest.fixture
def version(manager: Person) -> LabelVersion:
    """A whole label that is not verified."""
    label = label_of(register(manager), make_pest("House ant").pk)
    return enter_label(label=label, by=manager)


def test_the_turn_is_chosen_by_its_words(version: LabelVersion, manager: Person) -> None:
    client, url = client_for(manager), f"{version.get_absolute_url()}fill-turn/"
    assert "1, with water-soluble bags" in client.get(url).content.decode()
    assert client.post(url, TURN).status_code == 302
    row = LabelLimit.objects.get(fact="fill_turn")
    assert (row.limit, row.page, row.label_use) == (6, "p. 7", None)
    html = client.get(version.get_absolute_url()).content.decode()
    assert "6, with adjuvants, last. Add this product last." in html
    (written,) = (one for one in label_document(version)["limits"] if one["fact"] == "fill_turn")
    assert (written["limit"], written["page"]) == ("6", "p. 7")
    _, _, changes = compared(version.pk)
    assert any(one.new.startswith("6, with adjuvants") for one in changes)


def test_a_turn_is_changed_by_its_words_and_stands_once(
    version: LabelVersion, manager: Person
) -> None:
    client, url = client_for(manager), f"{version.get_absolute_url()}fill-turn/"
    client.post(url, TURN)
    row = LabelLimit.objects.get(fact="fill_turn")
    shown = client.get(f"/limits/{row.pk}/edit/").content.decode()
    assert '<option value="6" selected>' in shown
    assert client.post(f"/limits/{row.pk}/edit/", TURN | {"limit": "2"}).status_code == 302
    assert LabelLimit.objects.get(fact="fill_turn").limit == 2
    again = client.post(url, TURN)
    assert again.status_code == 422 and "Change that one" in again.content.decode()
    of_one = client.post(url, TURN | {"direction": "Outside band"})
    assert of_one.status_code == 302


@pytest.mark.parametrize(
    ("fields", "field"), [({"limit": "7"}, "limit"), ({"sentence": ""}, "sentence"),
                          ({"page": ""}, "page"), ({"direction": "Moon"}, "direction")]
)  # fmt: skip
def test_a_turn_that_cannot_be_is_said_at_its_field(
    version: LabelVersion, manager: Person, fields: dict[str, str], field: str
) -> None:
    answer = client_for(manager).post(
        f"{version.get_absolute_url()}fill-turn/", TURN | {"page": "p. 77"} | fields
    )
    assert answer.status_code == 422 and answer.context["form"].errors[field]
    assert not LabelLimit.objects.filter(fact="fill_turn").exists()


@pytest.mark.parametrize("turn", ["0", "7", "1.5"])
def test_a_file_names_one_of_six_turns(turn: str) -> None:
    new = NewLimit("fill_turn", "at_most", Decimal(turn), "note", "Add last.", "p. 7")
    assert refused_by(refuse_limit, new, set()).facts["field"] == "limit"


def test_a_pest_is_added_with_the_direction_that_names_it(
    version: LabelVersion, manager: Person
) -> None:
    url = f"{version.get_absolute_url()}directions/add/"
    typed = DIRECTION | {"new_pest": "Cellar beetle", "new_pest_group": "general"}
    answer = client_for(manager).post(url, typed)
    assert answer.status_code == 302
    assert [pest.common_name for pest in LabelUse.objects.get(title="Band").pests.all()] == [
        "Cellar beetle"
    ]


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"new_pest": "house ANT", "new_pest_group": "ants"}, "new_pest"),
        ({"new_pest": "Cellar beetle", "new_pest_group": ""}, "new_pest_group"),
        ({"new_pest": "Cellar beetle", "new_pest_group": "general", "rate_min": "2"}, "rate_min"),
    ],
)
def test_without_the_direction_no_pest_is_added_and_nothing_typed_is_lost(
    version: LabelVersion, manager: Person, fields: dict[str, str], field: str
) -> None:
    url = f"{version.get_absolute_url()}directions/add/"
    before = Pest.objects.count()
    answer = client_for(manager).post(url, DIRECTION | fields)
    html = answer.content.decode()
    assert answer.status_code == 422 and answer.context["form"].errors[field]
    assert f'value="{fields["new_pest"]}"' in html and 'value="Band"' in html
    assert (Pest.objects.count(), version.uses.count()) == (before, 1)


def test_first_aid_and_disposal_are_copied_with_their_pages(
    version: LabelVersion, manager: Person
) -> None:
    """They stand on the sheet, in the file and before whoever disposes of a lot."""
    typed = {
        "label_date": "2026-02-01", "effective_on": "2026-02-01", "precautions": "Bees.",
        "protective_equipment": "Gloves.", "reentry_text": "Until dry.",
        "first_aid": "If in eyes, rinse 15 minutes.", "page_first_aid": "p. 2",
        "storage_and_disposal": "Triple rinse.",
    }  # fmt: skip
    client, url = client_for(manager), version.get_absolute_url()
    assert client.post(f"{url}edit/", typed).status_code == 302
    html = client.get(url).content.decode()
    assert "If in eyes, rinse 15 minutes." in html
    assert "The page is missing for: " in html and "storage and disposal" in html
    written = label_document(LabelVersion.objects.get(pk=version.pk))
    assert written["label"]["storage_and_disposal"] == "Triple rinse."
    product, label = read(parse(json.dumps(written).encode()), {"house ant": 1})
    assert (label.first_aid, label.pages["first_aid"]) == (typed["first_aid"], "p. 2")
    assert product.name == version.product.name
