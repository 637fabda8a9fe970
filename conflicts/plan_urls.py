"""Addresses of planning a bore's profile."""

from django.urls import path

from conflicts.views import profile_plan
from conflicts.views.profile_take import profile_take

urlpatterns = [
    path("bores/<uuid:bore_id>/profile-search/", profile_plan.profile_search, name="profile-search"),
    path("bores/<uuid:bore_id>/profile-by-hand/", profile_plan.profile_by_hand, name="profile-by-hand"),
    path(
        "bores/<uuid:bore_id>/profile-by-hand/figures.json",
        profile_plan.profile_figures,
        name="profile-figures",
    ),
    path("bores/<uuid:bore_id>/profile-compare/", profile_plan.profile_compare, name="profile-compare"),
    path("bores/<uuid:bore_id>/profile-take/", profile_take, name="profile-take"),
]
