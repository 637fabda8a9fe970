"""Addresses of the rods that are drilled."""

from django.urls import path

from conflicts.views import rods

urlpatterns = [
    path("bores/<uuid:bore_id>/rods/", rods.rods, name="rods"),
    path("bores/<uuid:bore_id>/rods/undo/", rods.undo, name="rods-undo"),
    path("bores/<uuid:bore_id>/rods/pull-back/", rods.pull_back, name="rods-pull-back"),
    path("bores/<uuid:bore_id>/locator-check/", rods.locator_check, name="locator-check"),
]
