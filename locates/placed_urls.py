"""Addresses of the forms of records that have a place."""

from django.urls import path

from locates.views.map_base import map_base
from locates.views.placed_forms import add_placed, edit_placed

# Words in the address, and the kind of record, which names the address.
WORDS = (
    ("marks", "mark"),
    ("test-holes", "test-hole"),
    ("surface-features", "surface-feature"),
    ("ground-points", "ground-point"),
    ("linework", "linework"),
)

urlpatterns = [
    path("jobs/<uuid:job_id>/map-base/", map_base, name="map-base"),
    *(
        path(f"jobs/<uuid:job_id>/{words}/add/", add_placed, {"kind": kind}, name=f"{kind}-add")
        for words, kind in WORDS
    ),
    *(
        path(f"{words}/<uuid:record_id>/edit/", edit_placed, {"kind": kind}, name=f"{kind}-edit")
        for words, kind in WORDS
    ),
]
