"""The text of notices: a template with a closed list of {placeholders}, filled in once.

Nothing of a template is run: a value that looks like a placeholder stays as it is typed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from accounts.refusals import Refused
from accounts.rules.lines import CONTROL, line, paragraph
from accounts.rules.notices import Kind

MOST_SUBJECT, MOST_BODY = 150, 4_000
# U+2028, U+2029 and U+0085 end a line in some readers, the rest turn the direction of text
INVISIBLE = re.compile("[\u0080-\u009f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069]")
PLACE = re.compile(r"\{([^{}]*)\}")
TAG = re.compile(r"<!--|<\s*[/!]?\s*[A-Za-z][^<>]*>|&(#\d+|#x[0-9a-f]+|[a-z]+);", re.IGNORECASE)

WHOSE: Mapping[str, str] = {
    "contact": "whom it is sent to",
    "customer": "the customer",
    "property": "street and town of the property",
}
FIRM: Mapping[str, str] = {
    "firm": "name of the branch",
    "firm_phone": "telephone of the branch",
    "after_hours": "telephone after hours",
}
WORK: Mapping[str, str] = {"day": "day of the work", "work": "what was done with what"}
LINK: Mapping[str, str] = {"link": "address of the customer's page"}
VISIT: Mapping[str, str] = {
    "when": "day and hours of arrival",
    "technician": "who comes",
    "planned": "what is planned",
    "prepare": "how to prepare",
}
# stands in the words that are kept; the address takes its place in the message alone
LINK_PLACE = "[the link of this message]"
PLACEHOLDERS: Mapping[Kind, Mapping[str, str]] = {
    Kind.COPY: {**WHOSE, **WORK, **FIRM},
    Kind.CORRECTED_COPY: {**WHOSE, **WORK, "change": "corrected or voided", **FIRM},
    Kind.INSPECTION: {
        **WHOSE,
        "day": "day of the inspection",
        "found": "how many findings",
        "asked": "how many tasks are the customer's",
        **FIRM,
    },
    Kind.OFFER: {**WHOSE, "due": "until when the next service is best done", **LINK, **FIRM},
    Kind.APPOINTMENT: {**WHOSE, **VISIT, **LINK, **FIRM},
    Kind.REMINDER: {**WHOSE, **VISIT, **LINK, **FIRM},
    Kind.TASKS: {**WHOSE, "tasks": "what the customer was asked to do", **LINK, **FIRM},
}
EXAMPLES: Mapping[str, str] = {
    "contact": "Ann Example",
    "customer": "Example Bakery",
    "property": "12 Example Street, Exampletown",
    "day": "Nov 30, 2026",
    "work": "Demonstration A SC, perimeter band",
    "change": "corrected",
    "found": "3 findings",
    "asked": "1 task",
    "due": "Dec 12, 2026",
    "when": "Tue, Dec 1, 2026, 9:00 to 11:00 AM",
    "technician": "Alex Example",
    "planned": "service outside",
    "prepare": "Move pots and bins from the walls; keep pets inside.",
    "tasks": "fit a door sweep at the dock, by Dec 1, 2026",
    "link": "https://firm.example/logbook/enter/…/",
    "firm": "Example Pest Management",
    "firm_phone": "(555) 555-0100",
    "after_hours": "(555) 555-0199",
}
# 911, Poison Help and NPIC with what each is for: published numbers, as on the notice itself
_WHOM_TO_CALL = (
    "Trouble breathing, a seizure, or somebody who cannot be woken: call 911. Swallowed, in the "
    "eyes, on the skin, or ill: Poison Help 1-800-222-1222.\n"
    "Questions: call us at {firm_phone}, after hours {after_hours}.\n\n{firm}"
)


@dataclass(frozen=True)
class Text:
    """Subject and body: of a template with placeholders, of a notice filled in."""

    subject: str
    body: str


DEFAULTS: Mapping[Kind, Text] = {
    Kind.COPY: Text(
        "Your copy: work of {day} at {property}",
        "Hello {contact},\n\nwith this is your copy of what we did on {day} at {property}: "
        "{work}. It says what was used, what to watch for until it is dry or aired, and what was "
        "not treated. Please keep it.\n\n" + _WHOM_TO_CALL,
    ),
    Kind.CORRECTED_COPY: Text(
        "Corrected copy: work of {day} at {property}",
        "Hello {contact},\n\nour record of {day} at {property} ({work}) was {change}. The copy "
        "with this message takes the place of the one you have; without one attached, nothing "
        "of that record stands.\n\n" + _WHOM_TO_CALL,
    ),
    Kind.INSPECTION: Text(
        "Inspection of {day} at {property}",
        "Hello {contact},\n\nwith this is the report of our inspection of {day} at {property}: "
        "{found}, with pictures and advice; {asked} for you to do, each with its day. It is a "
        "general pest inspection, not a wood-destroying insect or organism inspection or report."
        "\n\n" + _WHOM_TO_CALL,
    ),
    Kind.OFFER: Text(
        "Your next service at {property}",
        "Hello {contact},\n\nthe next service at {property} is best done by {due}. That is our "
        "planning estimate, not a guarantee; if you see pests sooner, call us. To arrange a day, "
        "open your page {link} or call {firm_phone}.\n\n" + _WHOM_TO_CALL,
    ),
    Kind.APPOINTMENT: Text(
        "Your appointment: {when}",
        "Hello {contact},\n\nwe come to {property} on {when}: {planned}, {technician}.\n\n"
        "How to prepare: {prepare}\n\nPlease confirm, or ask for another time, on your page: "
        "{link}\nOr call us at {firm_phone}.\n\n" + _WHOM_TO_CALL,
    ),
    Kind.REMINDER: Text(
        "Reminder: {when}",
        "Hello {contact},\n\nwe come to {property} on {when}: {planned}, {technician}.\n\n"
        "How to prepare: {prepare}\n\nIf it does not suit you any more, call us at {firm_phone} "
        "or open your page: {link}\n\n" + _WHOM_TO_CALL,
    ),
    Kind.TASKS: Text(
        "Still to do at {property}",
        "Hello {contact},\n\nour work at {property} lasts best together with what we asked you "
        "to do: {tasks}. Tell us on your page when it is done, or if you need help: {link}\n"
        "Or call us at {firm_phone}.\n\n" + _WHOM_TO_CALL,
    ),
}


def checked(kind: Kind, subject: str, body: str) -> Text:
    """A template as typed, cleaned of control characters.

    Refused, naming the field: an empty or too long subject or body, more than one line in the
    subject, HTML, a brace that is no placeholder, a placeholder that this kind does not know.
    """
    if CONTROL.search(subject) or "\n" in subject:
        raise Refused("line", "The subject is one line. Take the line break out.", field="subject")
    one = line(_seen(subject), field="subject", label="Subject", most=MOST_SUBJECT)
    whole = paragraph(_seen(body), field="body", label="Text", most=MOST_BODY)
    if not whole:
        raise Refused("missing", "Text is missing. Type it.", field="body")
    for field, text in (("subject", one), ("body", whole)):
        _refuse_html(text, field)
        _refuse_unknown(text, kind, field)
    return Text(one, whole)


def _seen(text: str) -> str:
    return INVISIBLE.sub("", text)


def _refuse_html(text: str, field: str) -> None:
    tag = TAG.search(text)
    if tag is not None:
        raise Refused(
            "html",
            f'"{tag.group()[:40]}" looks like HTML. Notices are plain text; take it out.',
            field=field,
        )


def _refuse_unknown(text: str, kind: Kind, field: str) -> None:
    known = PLACEHOLDERS[kind]
    may = ", ".join(f"{{{name}}}" for name in known)
    for name in PLACE.findall(text):
        if name not in known:
            raise Refused(
                "placeholder",
                f'"{{{name[:40]}}}" is no placeholder of this notice. Use one of {may}.',
                field=field,
            )
    if set("{}") & set(PLACE.sub("", text)):
        raise Refused(
            "brace", f"A brace stands alone. Placeholders are written {may}.", field=field
        )


def filled(template: Text, values: Mapping[str, str]) -> Text:
    """The template with each placeholder replaced once by its value on one line.

    Values are not looked at again, so that a name in braces stays a name. An empty or missing
    value is a dash.
    """

    def value(found: re.Match[str]) -> str:
        said = INVISIBLE.sub(" ", CONTROL.sub(" ", values.get(found.group(1), "")))
        return " ".join(said.split()) or "–"

    subject = PLACE.sub(value, template.subject)
    return Text(subject[: 2 * MOST_SUBJECT], PLACE.sub(value, template.body))
