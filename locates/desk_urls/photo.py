"""Addresses of photos."""

from django.urls import path

from locates.views import photos

urlpatterns = [
    path("photos/of/<slug:kind>/<uuid:record_id>/", photos.photos, name="photo-add"),
    path("photos/<uuid:photo_id>/", photos.facts, name="photo-facts"),
    path("photos/<uuid:photo_id>/original/", photos.original, name="photo"),
    path("photos/<uuid:photo_id>/thumbnail/", photos.thumbnail, name="photo-thumbnail"),
    path("photos/<uuid:photo_id>/copy/", photos.print_copy, name="photo-copy"),
]
