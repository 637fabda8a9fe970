"""Addresses of the pages that bring files into a job and take them out."""

from django.urls import path

from locates.views import imports
from locates.views.exports import export

_STEP = "jobs/<uuid:job_id>/import/<uuid:import_id>"

urlpatterns = [
    path("jobs/<uuid:job_id>/import/", imports.begin, name="import"),
    path(f"{_STEP}/columns/", imports.columns, name="import-columns"),
    path(f"{_STEP}/values/", imports.values, name="import-values"),
    path(f"{_STEP}/check/", imports.check, name="import-check"),
    path(f"{_STEP}/check/state/", imports.state, name="import-state"),
    path(f"{_STEP}/result/", imports.result, name="import-result"),
    path("jobs/<uuid:job_id>/export/", export, name="export"),
]
