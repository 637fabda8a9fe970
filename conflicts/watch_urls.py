"""Addresses of the crossing watch and of what ends a bore."""

from django.urls import path

from conflicts.views import watching

urlpatterns = [
    path("bores/<uuid:bore_id>/watches/", watching.watches, name="watches"),
    path(
        "bores/<uuid:bore_id>/crossings/<int:sequence>/watch/<str:pass_made>/", watching.watch, name="watch"
    ),
    path("bores/<uuid:bore_id>/cameras/add/", watching.camera, name="camera"),
    path("bores/<uuid:bore_id>/close-out/", watching.close_out, name="close-out"),
]
