"""Addresses of releases and variances."""

from django.urls import path

from conflicts.views import releases, variances

urlpatterns = [
    path("bores/<uuid:bore_id>/release/", releases.sign, name="release-sign"),
    path("releases/<uuid:release_id>/", releases.release, name="release"),
    path("releases/<uuid:release_id>/standing.json", releases.standing, name="release-standing"),
    path("bores/<uuid:bore_id>/variances/", variances.variances, name="variances"),
    path("bores/<uuid:bore_id>/variances/ask/", variances.ask, name="variance-ask"),
    path("variances/<uuid:variance_id>/", variances.variance, name="variance"),
]
