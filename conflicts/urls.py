"""Addresses of the conflicts pages."""

from django.urls import path

from conflicts.form_urls import urlpatterns as form_addresses
from conflicts.plan_urls import urlpatterns as plan_addresses
from conflicts.release_urls import urlpatterns as release_addresses
from conflicts.rod_urls import urlpatterns as rod_addresses
from conflicts.views import clearance_record
from conflicts.views.ahead import ahead, ahead_state
from conflicts.views.as_of import bore_as_of, bore_as_of_map, job_as_of, job_as_of_map
from conflicts.views.audit import audit, audit_book, audit_file
from conflicts.views.bore import assessment, bore, bore_state
from conflicts.views.coverage import coverage, ticket_draft
from conflicts.views.crossing import crossing
from conflicts.views.damage import damage, damage_add
from conflicts.views.home import home, search
from conflicts.views.job_file import job_file
from conflicts.views.jobs import job, jobs
from conflicts.views.ledger import ledger
from conflicts.views.map_data import bore_map, job_map
from conflicts.views.pullback import pullback
from conflicts.views.route import route, route_file
from conflicts.views.strike import strike
from conflicts.views.ticket_area import ticket_area
from conflicts.views.walk import walk
from conflicts.watch_urls import urlpatterns as watch_addresses

app_name = "conflicts"
urlpatterns = [
    path("", home, name="home"),
    path("search/", search, name="search"),
    path("jobs/", jobs, name="jobs"),
    path("jobs/<uuid:job_id>/", job, name="job"),
    path("jobs/<uuid:job_id>/strike/", strike, name="strike"),
    path("jobs/<uuid:job_id>/damage/add/", damage_add, name="damage-add"),
    path("damage/<uuid:damage_id>/", damage, name="damage"),
    path("jobs/<uuid:job_id>/ticket-area/", ticket_area, name="ticket-area"),
    path("jobs/<uuid:job_id>/job-file.geojson", job_file, name="job-file"),
    path("jobs/<uuid:job_id>/route/", route, name="route"),
    path("jobs/<uuid:job_id>/route/file", route_file, name="route-file"),
    path("jobs/<uuid:job_id>/map.json", job_map, name="map-data"),
    path("ledger/", ledger, name="ledger"),
    path("jobs/<uuid:job_id>/as-of/", job_as_of, name="job-as-of"),
    path("jobs/<uuid:job_id>/as-of/map.json", job_as_of_map, name="map-as-of"),
    path("bores/<uuid:bore_id>/as-of/", bore_as_of, name="bore-as-of"),
    path("bores/<uuid:bore_id>/as-of/map.json", bore_as_of_map, name="map-as-of"),
    path("coverage/", coverage, name="coverage"),
    path("bores/<uuid:bore_id>/ticket-draft/", ticket_draft, name="ticket-draft"),
    path("bores/<uuid:bore_id>/map.json", bore_map, name="map-data"),
    path("bores/<uuid:bore_id>/", bore, name="bore"),
    path("bores/<uuid:bore_id>/crossings/<int:sequence>/", crossing, name="crossing"),
    path("bores/<uuid:bore_id>/ahead/", ahead, name="ahead"),
    path("bores/<uuid:bore_id>/ahead/state.json", ahead_state, name="ahead-state"),
    path("bores/<uuid:bore_id>/walk/", walk, name="walk"),
    path("bores/<uuid:bore_id>/pullback/", pullback, name="pullback"),
    path("bores/<uuid:bore_id>/clearance-record/", clearance_record.records, name="clearance-record"),
    path(
        "bores/<uuid:bore_id>/clearance-record/state.json",
        clearance_record.state,
        name="clearance-record-state",
    ),
    path(
        "bores/<uuid:bore_id>/clearance-record/<uuid:making_id>.pdf",
        clearance_record.record_file,
        name="clearance-record-file",
    ),
    path("bores/<uuid:bore_id>/state.json", bore_state, name="bore_state"),
    path("bores/<uuid:bore_id>/assessment.json", assessment, name="assessment"),
    path("audit/", audit, name="audit"),
    path("audit/part.csv", audit_file, name="audit-file"),
    path("audit/audit.xlsx", audit_book, name="audit-book"),
    *form_addresses,
    *plan_addresses,
    *release_addresses,
    *watch_addresses,
    *rod_addresses,
]
