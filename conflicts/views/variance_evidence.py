"""Evidence of a variance: photos and papers added to it, and a paper handed out as it came."""

from uuid import UUID

from csp.constants import NONE
from csp.decorators import csp
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from conflicts.desk.variance_evidence import add_evidence
from conflicts.forms.variance_evidence import EvidenceForm
from conflicts.models import Variance, VariancePaper
from conflicts.views.evidence_shown import evidence_shown
from conflicts.views.signed_forms import signs
from locates.exchange.handed_out import as_attachment
from locates.forms.permission import ask_to_write

may_view = permission_required(("conflicts.view_bore", "conflicts.view_variance"), raise_exception=True)
may_open = permission_required("conflicts.view_variancepaper", raise_exception=True)
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@may_view
@never_cache
@get_or_post
def evidence(request: HttpRequest, variance_id: UUID) -> HttpResponse:
    """Show the evidence of a variance, and add to it."""
    ask_to_write(request, VariancePaper, "add")
    found = get_object_or_404(Variance.objects.with_course(), pk=variance_id)
    form = EvidenceForm(request.POST, request.FILES) if request.method == "POST" else EvidenceForm()
    if (
        request.method == "POST"
        and form.is_valid()
        and signs(form, lambda: add_evidence(found, lambda: form.keep_evidence(found, by=request.user)))
    ):
        messages.success(request, "Kept: the evidence, as it came.")
        return redirect("conflicts:variance", found.pk)
    context = {
        "section": "jobs",
        "variance": found,
        "bore": found.bore,
        "job": found.bore.job,
        **evidence_shown(found),
        "signature": getattr(found, "signature", None),
        "end": getattr(found, "end", None),
        "form": form,
    }
    return render(request, "conflicts/variance_evidence.html", context)


@may_open
@never_cache
@csp({"default-src": [NONE], "frame-ancestors": [NONE], "sandbox": True})
@require_safe
def paper(request: HttpRequest, variance_paper_id: UUID) -> HttpResponse:
    """Hand out a paper byte by byte as it came."""
    found = get_object_or_404(VariancePaper, pk=variance_paper_id)
    return as_attachment(bytes(found.content), found.media_type, found.file_name)
