"""The addresses of the roof."""

from django.urls import path

from scheduling.views import (
    booking,
    customers,
    days,
    field,
    home,
    hours,
    notices,
    properties,
    renewals,
    use_log,
    visits,
)

urlpatterns = [
    path("", home.home, name="home"),
    path("renewals/", renewals.index, name="renewals"),
    path("renewals/<int:pk>/", renewals.show, name="renewal"),
    path("renewals/<int:pk>/book/", booking.for_renewal, name="renewal_book"),
    path("renewals/<int:pk>/decline/", renewals.decline, name="renewal_decline"),
    path("renewals/<int:pk>/reopen/", renewals.reopen, name="renewal_reopen"),
    path("properties/<int:pk>/", properties.show, name="property"),
    path("properties/<int:pk>/book/", booking.for_property, name="property_book"),
    path("customers/", customers.index, name="customers"),
    path("customers/<int:pk>/", customers.show, name="customer"),
    path("search/", customers.search, name="search"),
    path("day/", days.show, name="day"),
    path("visits/<int:pk>/", visits.show, name="visit"),
    path("visits/<int:pk>/cancel/", visits.cancel, name="visit_cancel"),
    path("people/<int:pk>/hours/", hours.shifts, name="shifts"),
    path("people/<int:pk>/time-off/", hours.time_off_add, name="time_off_add"),
    path("time-off/<int:pk>/remove/", hours.time_off_remove, name="time_off_remove"),
    path("use-log/", use_log.index, name="uselog"),
    path("today/", field.today, name="today"),
    path("stops/<int:pk>/", field.stop, name="stop"),
    path("stops/<int:pk>/start/", field.start, name="stop_start"),
    path("stops/<int:pk>/not-done/", field.not_done, name="stop_not_done"),
    path("stops/<int:pk>/mix/", field.mix, name="mix"),
    path("stops/<int:pk>/mix/decide/", field.decide, name="stop_decide"),
    path("stops/<int:pk>/mix/tag.pdf", field.tag, name="mix_tag"),
    path("stops/<int:pk>/record/", field.record, name="record_stop"),
    path("visits/<int:pk>/notice.pdf", notices.visit_notice, name="visit_notice"),
    path("use-log.csv", use_log.export, name="uselog_csv"),
]
