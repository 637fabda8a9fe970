"""Addresses of the desk's board."""

from django.urls import path

from locates.views import board

urlpatterns = [
    path("tickets/", board.board, name="board"),
    path("tickets/all/", board.tickets, name="board-tickets"),
    path("tickets/files/<str:board_list>.<str:format_name>", board.export, name="board-export"),
    path("tickets/views/<str:board_list>/", board.keep, name="board-keep"),
    path("tickets/views/<uuid:view_id>/let-go/", board.forget, name="board-forget"),
]
