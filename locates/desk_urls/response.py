"""Addresses of what the operators answered."""

from django.urls import path

from locates.views import responses

urlpatterns = [
    path("tickets/<uuid:ticket_id>/responses/add/", responses.add_response, name="response-add"),
]
