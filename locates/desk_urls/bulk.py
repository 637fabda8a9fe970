"""Addresses of many tickets or responses at a time."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
