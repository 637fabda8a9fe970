"""Addresses of releases and variances."""

from django.urls import path

from conflicts.views import releases, variance_evidence, variances

urlpatterns = [
    path("bores/<uuid:bore_id>/release/", releases.sign, name="release-sign"),
    path("releases/<uuid:release_id>/", releases.release, name="release"),
    path("releases/<uuid:release_id>/standing.json", releases.standing, name="release-standing"),
    path("bores/<uuid:bore_id>/variances/", variances.variances, name="variances"),
    path("bores/<uuid:bore_id>/variances/ask/", variances.ask, name="variance-ask"),
    path("variances/<uuid:variance_id>/", variances.variance, name="variance"),
    path("variances/<uuid:variance_id>/evidence/", variance_evidence.evidence, name="variance-evidence"),
    path("variance-papers/<uuid:variance_paper_id>/", variance_evidence.paper, name="variance-paper"),
]
