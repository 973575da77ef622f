"""The key in the database: loaded once, added to and changed by a manager."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from sites.models import Taxon, TaxonTrait, Trait, TraitValue
from sites.rules.identification.entries import NewTaxon, NewTrait
from sites.rules.identification.ranking import ranked, read_answers
from sites.selectors.identification_key import whole_key
from sites.services.identification_key import (
    add_taxon,
    add_trait,
    edit_taxon,
    edit_trait,
    load_key,
)
from tests.evidence import make_taxon
from tests.factories import client_for
from tests.refusing import refused
from tests.sites.rules.identification_key import KEY

pytestmark = pytest.mark.django_db
BEETLE = NewTaxon(
    common_name="Larder beetle",
    kind="target",
    advice=("vacuum", "monitor"),
    mm_low=Decimal("7"),
    mm_high=Decimal("9"),
    traits={"legs": ("six",), "wings": ("elytra",), "back": ("pale_bands",)},
    source="Morgan Manager, seen in 2026",
)


def test_our_key_is_stored_as_the_file_says_it_and_only_once() -> None:
    assert load_key() == len(KEY.taxa)
    assert load_key() == 0
    stored = whole_key()
    assert stored.traits == KEY.traits
    assert stored.look_alikes == KEY.look_alikes
    assert stored.taxa == KEY.taxa


def test_what_the_firm_changed_is_not_loaded_over(manager: Person) -> None:
    make_taxon("own_1", common_name="house MOUSE")
    load_key()
    assert not Taxon.objects.filter(code="MUSMU").exists()
    bug = Taxon.objects.get(code="HALHA")
    Taxon.objects.filter(pk=bug.pk).update(advice_text="Call the office.", is_firms_own=True)
    TaxonTrait.objects.filter(taxon=bug, value__code="banded").delete()
    load_key()
    bug.refresh_from_db()
    assert bug.advice_text == "Call the office."
    assert not bug.shown.filter(value__code="banded").exists()


def test_a_manager_adds_an_animal_that_the_key_then_finds(manager: Person) -> None:
    load_key()
    row = add_taxon(taxon=BEETLE, by=manager)
    assert (row.code, row.is_firms_own, row.created_by) == ("larder_beetle", True, manager)
    key = whole_key()
    seen, _ = read_answers(key, ["wings.elytra", "back.pale_bands", "size.s7"])
    assert ranked(key, seen)[0].taxon.code == "larder_beetle"
    mine = row.shown.get(value__code="s7")
    assert (mine.evidence, mine.source) == ("firm", "Morgan Manager, seen in 2026")


def test_a_change_keeps_where_the_other_values_are_from(manager: Person) -> None:
    load_key()
    bug = Taxon.objects.get(code="HALHA")
    new = NewTaxon(
        common_name="Brown marmorated stink bug",
        kind="invader",
        advice=("exclude",),
        traits={"antennae": ("banded",), "shape": ("shield", "long_oval")},
    )
    edit_taxon(taxon_id=bug.pk, taxon=new, by=manager)
    marks = {one.value.code: (one.evidence, bool(one.source)) for one in bug.shown.all()}
    assert marks == {
        "banded": ("read", True),
        "shield": ("read", False),
        "long_oval": ("firm", False),
    }


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"common_name": ""}, "missing", "common_name"),
        ({"common_name": "BED bug"}, "exists", "common_name"),
        ({"kind": "moon"}, "choice", "kind"),
        ({"advice": ("shout",)}, "choice", "advice"),
        ({"mm_high": None}, "size", "mm_high"),
        ({"mm_low": Decimal(9), "mm_high": Decimal(7)}, "size", "mm_high"),
        ({"mm_low": Decimal(0)}, "size", "mm_high"),
        ({"traits": {"legs": ("nine",)}}, "choice", "trait_legs"),
    ],
)
def test_an_animal_that_cannot_be_is_refused(
    manager: Person, change: dict[str, Any], code: str, field: str
) -> None:
    load_key()
    before = TaxonTrait.objects.count()
    with refused(code, field):
        add_taxon(taxon=NewTaxon(**{**vars(BEETLE), **change}), by=manager)
    assert TaxonTrait.objects.count() == before


def test_a_question_of_the_firm_is_asked_beside_ours(manager: Person) -> None:
    load_key()
    new = NewTrait("Wing edge", "What is the wing edge like?", answers="Smooth\nToothed")
    trait = add_trait(trait=new, by=manager)
    assert list(whole_key().traits)[-1] == trait.code == "wing_edge"
    more = NewTrait("Wing edge", "How is the edge?", answers="Unknown\nFringed")
    edit_trait(trait_id=trait.pk, trait=more, by=manager)
    asked = whole_key().traits["wing_edge"]
    assert asked.question == "How is the edge?"
    # the code of an answer never says that nothing was seen
    assert list(asked.values) == ["smooth", "toothed", "unknown_2", "fringed"]


@pytest.mark.parametrize(
    ("typed", "code", "field"),
    [
        ({"name": ""}, "missing", "name"),
        ({"question": ""}, "missing", "question"),
        ({"answers": "One"}, "answers", "answers"),
        ({"answers": "One\none"}, "answers", "answers"),
        ({"answers": "\n".join(f"a{n}" for n in range(30))}, "answers", "answers"),
        ({"answers": "x" * 81 + "\ny"}, "long", "answers"),
    ],
)
def test_a_question_that_cannot_be_is_refused(
    manager: Person, typed: dict[str, str], code: str, field: str
) -> None:
    good = {"name": "Edge", "question": "Which?", "answers": "One\nTwo"}
    with refused(code, field):
        add_trait(trait=NewTrait(**good | typed), by=manager)
    assert not Trait.objects.exists() and not TraitValue.objects.exists()


def test_only_a_manager_changes_the_key(technician: Person, office: Person) -> None:
    for person in (technician, office):
        with pytest.raises(Refused):
            add_taxon(taxon=BEETLE, by=person)


def test_pages_of_the_key(manager: Person, technician: Person) -> None:
    load_key()
    bug = Taxon.objects.get(code="XYLOC")
    page = client_for(technician).get(f"/key/taxa/{bug.pk}/").content.decode()
    assert "from memory, unverified" in page and "Iowa State University" in page
    assert "Refer to a firm licensed in that category." in page and "/edit/" not in page
    client = client_for(manager)
    assert "Fire ant" in client.get("/key/").content.decode().replace("fire ant", "Fire ant")
    form = client.get(f"/key/taxa/{bug.pk}/edit/")
    assert form.context["form"].initial["trait_hair"] == ["bare_tail"]
    typed = {
        "common_name": "Carpenter bee",
        "kind": "refer",
        "advice": ["refer_wood"],
        "mm_low": "19",
        "mm_high": "25",
        "trait_hair": ["bare_tail", "smooth"],
        "source": "Seen in 2026",
    }
    assert client.post(f"/key/taxa/{bug.pk}/edit/", typed).status_code == 302
    assert bug.shown.get(value__code="smooth").source == "Seen in 2026"
    answer = client.post("/key/traits/add/", {"name": "Edge", "question": "Which?", "answers": "A"})
    assert answer.status_code == 422
    assert "Give at least 2 answers" in str(answer.context["form"].errors["answers"])


def test_an_empty_key_says_so(technician: Person) -> None:
    page = client_for(technician).get("/identify/").content.decode()
    assert "The key is empty." in page
