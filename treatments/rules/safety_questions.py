"""What only a person on the spot can answer before product is put down, and how it is asked.

Space, attic, void and dust work: common practice, no source; a label's own rows bring their page.
"""

from __future__ import annotations

from collections.abc import Iterable

from accounts.refusals import Refused
from sites.rules.places import Place
from treatments.rules.label_questions import AskedRow, is_of_label, of_label
from treatments.rules.products import Formulation, Method
from treatments.rules.questions import MOST_ANSWERS, Question

ENCLOSED_METHODS = frozenset({Method.SPACE, Method.VOID, Method.DUST})
ENCLOSED_PLACES = frozenset({Place.ATTIC, Place.VOID, Place.CRAWL_SPACE})


VOLUME = Question(
    "space_volume",
    "Is the volume of the space inside the label's maximum?",
    "The space is larger than the label allows.",
    "Measure the space; choose another product or method.",
    may_not_apply=True,
)
ENCLOSED = (
    Question(
        "people_out",
        "Are people and pets out, and kept out?",
        "People or pets are not out.",
        "Wait until everybody is out and the doors are posted.",
    ),
    Question(
        "aquaria_covered",
        "Are aquaria covered and their pumps off?",
        "An aquarium is not covered, or its pump runs.",
        "Cover it and switch the pump off, or carry it out.",
        may_not_apply=True,
    ),
    Question(
        "food_covered",
        "Are food, dishes and utensils covered or carried out?",
        "Food or utensils are not covered.",
        "Cover them or carry them out.",
        may_not_apply=True,
    ),
    Question(
        "ignition_off",
        "Are pilot lights and other ignition sources off?",
        "An ignition source is not off.",
        "Have it switched off, or choose a method that needs no propellant.",
        may_not_apply=True,
    ),
    Question(
        "air_handling_off",
        "Are fans, heating and air conditioning off?",
        "Air handling is not off.",
        "Switch it off and close the registers.",
        may_not_apply=True,
    ),
)
DUST = (
    Question(
        "breaker_off",
        "Is the breaker of the wiring you dust near off?",
        "The breaker is not off.",
        "Switch the breaker off and try it with a tester.",
        may_not_apply=True,
    ),
    Question(
        "no_live_outlets",
        "Is dust kept away from every live outlet?",
        "Dust would reach a live outlet.",
        "Leave the outlet out, or switch its breaker off first.",
    ),
    Question(
        "none_in_living_air",
        "Is none of the dust in the air that people breathe?",
        "Dust gets into living air.",
        "Close the openings, use less, or leave the place out.",
    ),
)
AFTERWARDS = (
    Question("closed_from_to", "Closed from and until", is_text=True),
    Question("aired_from_to", "Aired from and until", is_text=True),
    Question("cleared_by", "Who cleared it for entry, and when", is_text=True),
)
KNOWN_AFTERWARDS = frozenset(one.code for one in AFTERWARDS)


def questions(
    *,
    method: Method,
    places: Iterable[Place],
    formulation: Formulation | None,
    rows: Iterable[AskedRow] = (),
    is_volume_known: bool = False,
) -> tuple[Question, ...]:
    """What a use must ask, in the order of the work; times and names come last.

    `is_volume_known`: the space is measured and a row of the label limits it, so that the number
    decides. Bait brings nothing into the air and is asked only for the label's rows.
    """
    dusty = method == Method.DUST or formulation == Formulation.DUST
    found = list(of_label(rows))
    if method != Method.BAIT and (dusty or is_enclosed(method, places)):
        volume = () if is_volume_known else (VOLUME,)
        found += [*ENCLOSED, *volume, *(DUST if dusty else ()), *AFTERWARDS]
    return tuple(found)


def is_enclosed(method: Method, places: Iterable[Place]) -> bool:
    """Work whose product stays in closed air."""
    return method in ENCLOSED_METHODS or not ENCLOSED_PLACES.isdisjoint(places)


def is_of_the_work(code: str) -> bool:
    """Whether a question is about the work itself, whatever label is used for it.

    The volume of a space is asked against the maximum of one label.
    """
    return code != VOLUME.code and not is_of_label(code)


def for_second(
    answers: Iterable[tuple[str, str]], own: Iterable[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """What answers for the second product of a tank: the work's `answers`, its label's `own`.

    An answer to the rows of one label answers no other label.
    """
    of_work = [pair for pair in answers if is_of_the_work(pair[0])]
    return (*of_work, *(pair for pair in own if not is_of_the_work(pair[0])))


def refuse_answers(answers: Iterable[tuple[str, str]]) -> None:
    """Refuse answers that nobody can have given: too many, or two to one question."""
    given = list(answers)
    if len(given) > MOST_ANSWERS or len({code for code, _ in given}) < len(given):
        raise Refused("answer", "A question is answered twice. Open the stop again.")


def answer_of(question: Question, answer: str) -> str:
    """An answer as it counts: empty when nothing was answered; refused when it is no answer."""
    text = answer.strip()
    if not question.is_written and text and text not in dict(question.answers):
        raise Refused("answer", f"Answer with one of the choices: {question.words}")
    return text
