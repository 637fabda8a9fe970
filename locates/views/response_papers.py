"""The papers that came with an answer: added, listed, and handed out as they came."""

from uuid import UUID

from csp.constants import NONE
from csp.decorators import csp
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from locates.desk.keep_paper import keep_paper
from locates.errors import RetiredMeanwhileError
from locates.exchange.handed_out import as_attachment
from locates.exchange.paper_guard import PaperError
from locates.forms.permission import ask_to_write
from locates.forms.response_paper import PaperForm, words_of
from locates.models import Response, ResponsePaper
from locates.views.job_forms import get_or_post

may_view = permission_required("locates.view_responsepaper", raise_exception=True)


@never_cache
@get_or_post
def papers(request: HttpRequest, response_id: UUID) -> HttpResponse:
    """List the papers of an answer, and take one more."""
    ask_to_write(request, ResponsePaper, "add")
    answers = Response.objects.select_related("operator", "ticket__job", "edited_by")
    response = get_object_or_404(answers, pk=response_id)
    form = PaperForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        upload = form.cleaned_data["file"]
        try:
            paper = keep_paper(response, upload.name, upload.read(), by=request.user)
        except PaperError as error:
            form.add_error("file", words_of(error))
        except RetiredMeanwhileError as error:
            form.add_error(None, f"{error}.")
        else:
            messages.success(request, f"Kept: {paper.file_name}.")
            return redirect("locates:response-papers", response.pk)
    context = {
        "section": "jobs",
        "job": response.ticket.job,
        "ticket": response.ticket,
        "response": response,
        "papers": ResponsePaper.objects.filter(response=response).listed(),
        "form": form,
    }
    return render(request, "locates/response_papers.html", context)


@may_view
@never_cache
@csp({"default-src": [NONE], "frame-ancestors": [NONE], "sandbox": True})
@require_safe
def paper(request: HttpRequest, paper_id: UUID) -> HttpResponse:
    """Hand out a paper byte by byte as it came, to be saved and never to be shown in this site's name."""
    found = get_object_or_404(ResponsePaper, pk=paper_id)
    return as_attachment(bytes(found.content), found.media_type, found.file_name)
