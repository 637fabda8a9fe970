"""Addresses of the rods that are drilled, and of the passes after them."""

from django.urls import path

from conflicts.views import passes, rods

urlpatterns = [
    path("bores/<uuid:bore_id>/rods/", rods.rods, name="rods"),
    path("bores/<uuid:bore_id>/rods/undo/", rods.undo, name="rods-undo"),
    path("bores/<uuid:bore_id>/rods/pull-back/", rods.pull_back, name="rods-pull-back"),
    path("bores/<uuid:bore_id>/locator-check/", rods.locator_check, name="locator-check"),
    path("bores/<uuid:bore_id>/passes/", passes.passes, name="passes"),
    path("bores/<uuid:bore_id>/passes/pullback/", passes.pullback, name="passes-pullback"),
    path("bores/<uuid:bore_id>/passes/withdraw/", passes.withdraw, name="passes-withdraw"),
]
