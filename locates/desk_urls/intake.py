"""Addresses of the text of a confirmation."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
