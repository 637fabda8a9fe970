"""Addresses of the calendar of starts and expiries."""

from django.urls import path

from locates.views import calendar

urlpatterns = [
    path("calendar/", calendar.calendar, name="calendar"),
    path("calendar/address/", calendar.calendar_address, name="calendar-address"),
    path("calendar/<str:token>/tickets.ics", calendar.calendar_feed, name="calendar-feed"),
]
