"""Addresses of many tickets or responses at a time."""

from django.urls import path

from locates.views import bulk

_STEP = "jobs/<uuid:job_id>/bulk/<uuid:import_id>"

urlpatterns = [
    path("tickets/bulk/", bulk.choose_job, name="bulk-job"),
    path("tickets/bulk/empty/<slug:kind>/", bulk.empty_file, name="bulk-empty"),
    path("jobs/<uuid:job_id>/bulk/", bulk.begin, name="bulk"),
    path(f"{_STEP}/columns/", bulk.columns, name="bulk-columns"),
    path(f"{_STEP}/check/", bulk.check, name="bulk-check"),
    path(f"{_STEP}/result/", bulk.result, name="bulk-result"),
]
