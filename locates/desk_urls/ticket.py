"""Addresses of one ticket, its renewals and the tickets to review."""

from django.urls import path

from locates.views import ticket

urlpatterns = [
    path("tickets/<uuid:ticket_id>/", ticket.ticket, name="ticket"),
    path("tickets/<uuid:ticket_id>/finish/", ticket.finish, name="ticket-finish"),
]
