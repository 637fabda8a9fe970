"""Addresses of the calendar of starts and expiries."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
