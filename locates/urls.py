"""Addresses of the locates pages."""

from django.urls import path

from locates.desk_urls import board, bulk, calendar, centre_day, intake, notice, photo, response, ticket
from locates.file_urls import urlpatterns as file_addresses
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    Linework,
    Mark,
    Response,
    ResponsePaper,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from locates.placed_urls import urlpatterns as placed_addresses
from locates.views import job_forms, ticket_forms
from locates.views.history import job_history
from locates.views.retiring import restore_records, retire_record, retired_jobs
from locates.views.roles import roles
from locates.views.rules import own_rule, rule, rules, shipped_rule

# Words in the address, name, kind of record, and the section of the job's page that shows it.
RETIRABLE = (
    ("jobs", "job", Job, "main"),
    ("operators", "operator", FacilityOperator, "operators"),
    ("requirements", "requirement", ClearanceRequirement, "allowances"),
    ("tickets", "ticket", Ticket, "tickets"),
    ("responses", "response", Response, "tickets"),
    ("response-papers", "response-paper", ResponsePaper, "tickets"),
    ("marks", "mark", Mark, "marks"),
    ("test-holes", "test-hole", TestHole, "test-holes"),
    ("surface-features", "surface-feature", SurfaceFeature, "surface-features"),
    ("ground-points", "ground-point", GroundPoint, "main"),
    ("linework", "linework", Linework, "main"),
)

app_name = "locates"
urlpatterns = [
    path("roles/", roles, name="roles"),
    path("rules/", rules, name="rules"),
    path("rules/<uuid:rule_id>/", rule, name="rule"),
    path("rules/<str:code>/own/", own_rule, name="rule-own"),
    path("rules/<str:code>/shipped/", shipped_rule, name="rule-shipped"),
    path("jobs/add/", job_forms.add_job, name="job-add"),
    path("jobs/retired/", retired_jobs, name="retired-jobs"),
    path("jobs/<uuid:job_id>/history/", job_history, name="job-history"),
    path("jobs/<uuid:job_id>/edit/", job_forms.edit_job, name="job-edit"),
    path("jobs/<uuid:job_id>/operators/add/", job_forms.add_operator, name="operator-add"),
    path("operators/<uuid:record_id>/edit/", job_forms.edit_operator, name="operator-edit"),
    path("jobs/<uuid:job_id>/requirements/add/", job_forms.add_requirement, name="requirement-add"),
    path("requirements/<uuid:record_id>/edit/", job_forms.edit_requirement, name="requirement-edit"),
    path("jobs/<uuid:job_id>/tickets/add/", ticket_forms.add_ticket, name="ticket-add"),
    path("tickets/<uuid:record_id>/edit/", ticket_forms.edit_ticket, name="ticket-edit"),
    path(
        "surface-features/<uuid:record_id>/sign-off/",
        ticket_forms.sign_off_feature,
        name="surface-feature-sign-off",
    ),
    *ticket.urlpatterns,
    *response.urlpatterns,
    *photo.urlpatterns,
    *board.urlpatterns,
    *notice.urlpatterns,
    *calendar.urlpatterns,
    *centre_day.urlpatterns,
    *intake.urlpatterns,
    *bulk.urlpatterns,
    *file_addresses,
    *placed_addresses,
    path("retired/<uuid:retirement_id>/restore/", restore_records, name="restore"),
    *(
        path(
            f"{words}/<uuid:record_id>/retire/",
            retire_record,
            {"model": model, "section": section},
            name=f"{name}-retire",
        )
        for words, name, model, section in RETIRABLE
    ),
]
