"""Addresses of what the operators answered."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
