"""Addresses of the locates pages."""

from django.urls import path

from locates.views.rules import rule, rules

app_name = "locates"
urlpatterns = [
    path("rules/", rules, name="rules"),
    path("rules/<uuid:rule_id>/", rule, name="rule"),
]
