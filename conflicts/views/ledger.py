"""The ledger of what was signed: its entries by job, and its proof at the moment when somebody asks."""

from django.contrib.auth.decorators import permission_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.forms.ledger import LedgerForm, ProofForm
from locates.desk.prove_ledger import is_of_jobs, prove_ledger
from locates.models import Job, LedgerEntry

ENTRIES_A_PAGE = 30
LAST_PROVEN = 500
"""So many entries are proven while somebody waits, photos with all of their bytes; the command proves all."""

may_view = permission_required(("conflicts.view_bore", "locates.view_ledgerentry"), raise_exception=True)


@may_view
@never_cache
@require_safe
def ledger(request: HttpRequest) -> HttpResponse:
    """Show entries, the last first; with ``prove`` in the address, what comes of proving the last of them."""
    jobs = Job.with_retired.seen_by(request.user.pk)
    form, proof_form = LedgerForm(request.GET, jobs), ProofForm(request.GET)
    is_read = form.is_valid() & proof_form.is_valid()
    entries = LedgerEntry.objects.filter(job__in=jobs).select_related("job", "entered_by")
    chosen = form.cleaned_data.get("job")
    if chosen is not None:
        entries = entries.filter(job=chosen)
    proof = None
    if "prove" in request.GET and proof_form.is_valid():
        proof = prove_ledger(last=LAST_PROVEN, noted_head=proof_form.cleaned_data["head"].strip() or None)
    context = {
        "section": "jobs",
        "form": form,
        "proof_form": proof_form,
        "chosen": chosen,
        "query": form.query(),
        "page": Paginator(entries.order_by("-sequence"), ENTRIES_A_PAGE).get_page(request.GET.get("page")),
        "head": LedgerEntry.objects.head(),
        "proof": proof,
        "names_record": proof is not None and is_of_jobs(proof.fault, jobs),
        "last_proven": LAST_PROVEN,
        "at": timezone.now(),
    }
    return render(request, "conflicts/ledger.html", context, status=200 if is_read else 400)
