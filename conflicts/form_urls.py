"""Addresses of the forms of bores, of their pits and of what joins them."""

from django.urls import path

from conflicts.views import bore_forms, route_forms

urlpatterns = [
    path("jobs/<uuid:job_id>/bores/add/", bore_forms.add_bore, name="bore-add"),
    path("bores/<uuid:bore_id>/edit/", bore_forms.edit_bore, name="bore-edit"),
    path("bores/<uuid:bore_id>/retire/", bore_forms.retire_bore, name="bore-retire"),
    path("bores/<uuid:bore_id>/pits/add/", bore_forms.add_pit, name="pit-add"),
    path("jobs/<uuid:job_id>/joints/add/", route_forms.add_joint, name="joint-add"),
    path("joints/<uuid:joint_id>/edit/", route_forms.edit_joint, name="joint-edit"),
    path("joints/<uuid:joint_id>/retire/", route_forms.retire_joint, name="joint-retire"),
    path("pits/<uuid:pit_id>/edit/", bore_forms.edit_pit, name="pit-edit"),
    path("pits/<uuid:pit_id>/retire/", bore_forms.retire_pit, name="pit-retire"),
]
