"""Addresses of the text of a confirmation."""

from django.urls import URLPattern, path

from locates.views import ticket_text

urlpatterns: list[URLPattern] = [
    path("text-readers/", ticket_text.text_readers, name="text-readers"),
    path("text-readers/add/", ticket_text.add_reader, name="text-reader-add"),
    path("text-readers/<uuid:reader_id>/edit/", ticket_text.edit_reader, name="text-reader-edit"),
    path("jobs/<uuid:job_id>/tickets/from-text/", ticket_text.ticket_from_text, name="ticket-from-text"),
]
