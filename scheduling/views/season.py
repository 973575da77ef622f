"""The season: whom to treat before flight, its numbers, the weather."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import branch_choices, local_today, page_of
from accounts.views.one_form import FormPage, one_form, posted
from scheduling.forms.season import ReadingForm, ReadingsFileForm, SeasonRuleForm
from scheduling.selectors.season_pages import (
    readings_for,
    season_page,
    setting_for,
    setting_lines,
)
from scheduling.services.season import enter_reading, enter_season_rule, import_readings


@requires(Permission.SEE_RENEWALS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """The properties to treat before flight, by their books-by day."""
    person = person_of(request)
    sheet = season_page(person, local_today(person, timezone.now()))
    page = page_of(sheet.rows, request.GET.get("page"))
    return render(request, "scheduling/season.html", {"sheet": sheet, "page": page})


@requires(Permission.SEE_RENEWALS)
@require_GET
def numbers(request: HttpRequest) -> HttpResponse:
    """Every number of the season and where it is from."""
    lines = setting_lines(local_today(person_of(request), timezone.now()))
    return render(request, "scheduling/season_numbers.html", {"lines": lines})


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def number(request: HttpRequest, code: str) -> HttpResponse:
    """Enter another value of one number, from a day on."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    setting, value = setting_for(code, today)
    hint = "A day of the year is written as 09-15." if setting.is_day else ""
    page = FormPage(
        setting.words, "Enter the value", reverse("season_rules"), "It counts from its day.", hint
    )
    form = SeasonRuleForm(posted(request), initial={"value": value, "from_on": today})
    return one_form(
        request, form, page, lambda entered: enter_season_rule(code=code, by=person, **entered)
    )


@requires(Permission.SEE_RENEWALS)
@require_GET
def readings(request: HttpRequest) -> HttpResponse:
    """The weather that was read, the newest first."""
    page = page_of(readings_for(person_of(request)), request.GET.get("page"))
    return render(request, "scheduling/readings.html", {"page": page})


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def reading_add(request: HttpRequest) -> HttpResponse:
    """Write the weather of one day."""
    person, now = person_of(request), timezone.now()
    today = local_today(person, now)
    form = ReadingForm(
        posted(request), rows={"branch": branch_choices(person)}, initial={"day": today}
    )
    page = FormPage(
        "Weather of a day",
        "Write the day",
        reverse("readings"),
        "The day is written.",
        "A day that is there already is written anew.",
        two=True,
    )
    return one_form(
        request,
        form,
        page,
        lambda entered: enter_reading(
            branch_id=entered.pop("branch"), today=today, by=person, now=now, **entered
        ),
    )


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def readings_import(request: HttpRequest) -> HttpResponse:
    """Write the weather of a file, all days or none."""
    person, now = person_of(request), timezone.now()
    files = request.FILES if request.method == "POST" else None
    form = ReadingsFileForm(posted(request), files, rows={"branch": branch_choices(person)})
    page = FormPage(
        "Weather from a file", "Take the file", reverse("readings"), "Every day of the file is in."
    )
    return one_form(
        request,
        form,
        page,
        lambda entered: import_readings(
            branch_id=entered["branch"],
            raw=entered["file"].read(),
            file_name=entered["file"].name,
            today=local_today(person, now),
            by=person,
            now=now,
        ),
    )
