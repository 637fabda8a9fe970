"""Addresses of the days that centres count their own way."""

from django.urls import path

from locates.views import centre_days

urlpatterns = [
    path("rules/<str:code>/days/", centre_days.centre_days, name="centre-days"),
    path("rules/days/<uuid:day_id>/retire/", centre_days.retire_day, name="centre-day-retire"),
]
