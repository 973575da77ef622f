"""The addresses of the second floor."""

from django.urls import path

from treatments.views import log, records

urlpatterns = [
    path("record/<int:pk>/", records.show, name="record"),
    path("log/", log.proof, name="log_proof"),
]
