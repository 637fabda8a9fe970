"""Addresses of one ticket, its renewals and the tickets to review."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
