"""Addresses of the locates pages."""

app_name = "locates"
urlpatterns: list[object] = []
