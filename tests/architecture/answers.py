"""Who is answered what: one code a role, in the order of `ROLES`."""

from __future__ import annotations

from dataclasses import dataclass

ROLES = ("anonymous", "stranger", "technician", "office", "manager")
Answers = tuple[int, int, int, int, int]

OPEN: Answers = (200, 200, 200, 200, 200)
SIGNED_IN: Answers = (302, 200, 200, 200, 200)
ANY_ROLE: Answers = (302, 403, 200, 200, 200)
OFFICE: Answers = (302, 403, 403, 200, 200)
TECHNICIAN: Answers = (302, 403, 200, 403, 403)
NOT_OFFICE: Answers = (302, 403, 200, 403, 200)
MANAGER: Answers = (302, 403, 403, 403, 200)
NOBODY: Answers = (403, 403, 403, 403, 403)
NO_LINK: Answers = (404, 404, 404, 404, 404)


def answers(opened: Answers, code: int) -> Answers:
    """The same people let in as by `opened`, answered with another code."""
    first, *others = (code if each == 200 else each for each in opened)
    return (first, *others)  # type: ignore[return-value]


@dataclass(frozen=True)
class Row:
    """The expected answers of one address."""

    get: Answers | None
    post: Answers | None = None
    takes: tuple[str, ...] = ()
    is_everybodys: bool = False


def of_somebody_else(own: Answers) -> Answers:
    """The answers for somebody else's thing: not there for a technician who may open an own one."""
    anonymous, stranger, technician, office, manager = own
    is_open_to_technicians = technician != stranger
    return (anonymous, stranger, 404 if is_open_to_technicians else technician, office, manager)


ANY_MOVED = answers(ANY_ROLE, 302)
OFFICE_FORM = answers(OFFICE, 422)
OFFICE_MOVED = answers(OFFICE, 302)
OPEN_FORM = answers(OPEN, 422)
MANAGER_FORM = answers(MANAGER, 422)
TECHNICIAN_FORM = answers(TECHNICIAN, 422)
TECHNICIAN_MOVED = answers(TECHNICIAN, 302)
