"""Addresses of one ticket, its renewals and the tickets to review."""

from django.urls import path

from locates.views import ticket, ticket_forms, ticket_review

urlpatterns = [
    path("tickets/to-review/", ticket_review.tickets_to_review, name="tickets-to-review"),
    path("tickets/<uuid:ticket_id>/", ticket.ticket, name="ticket"),
    path("tickets/<uuid:ticket_id>/finish/", ticket.finish, name="ticket-finish"),
    path("tickets/<uuid:ticket_id>/renew/", ticket_forms.renew_ticket, name="ticket-renew"),
    path("tickets/<uuid:ticket_id>/reviewed/", ticket_review.ticket_reviewed, name="ticket-reviewed"),
    path("jobs/<uuid:job_id>/ticket-dates/", ticket_forms.ticket_dates, name="ticket-dates"),
]
