"""Addresses of this floor."""

from django.urls.resolvers import URLPattern

urlpatterns: list[URLPattern] = []
