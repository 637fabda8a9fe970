"""Addresses of notices and what a person follows."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
