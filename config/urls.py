"""Every address of the house."""

from django.urls import include, path

urlpatterns = [
    path("", include("scheduling.urls")),
    path("", include("accounts.urls")),
    path("", include("sites.urls")),
    path("", include("treatments.urls")),
    path("sign-in/", include("allauth.urls")),
]
