"""Addresses of what the operators answered."""

from django.urls import path

from locates.views import response_papers, responses

urlpatterns = [
    path("tickets/<uuid:ticket_id>/responses/add/", responses.add_response, name="response-add"),
    path("tickets/<uuid:ticket_id>/responses/quick/", responses.add_quick_response, name="response-quick"),
    path("responses/<uuid:response_id>/papers/", response_papers.papers, name="response-papers"),
    path("response-papers/<uuid:paper_id>/", response_papers.paper, name="response-paper"),
]
