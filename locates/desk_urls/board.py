"""Addresses of the desk's board."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
