"""Addresses of the conflicts pages."""

app_name = "conflicts"
urlpatterns: list[object] = []
