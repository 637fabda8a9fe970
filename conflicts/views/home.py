"""The first page, and the search over all records."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from conflicts.forms.search import SearchForm
from conflicts.home_sheet import read_home
from conflicts.models import Variance
from conflicts.search import search as find
from conflicts.views.access import may_view

NEEDS_SHOWN = 12
NEEDS_SHOWN_AT_MOST = 200


@may_view
@never_cache
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Show what needs a person, the most urgent first, and then the jobs."""
    at = timezone.now()
    shows_all = request.GET.get("needs") == "all"
    sheet = read_home(at, NEEDS_SHOWN_AT_MOST if shows_all else NEEDS_SHOWN, request.user.pk)
    context = {"section": "today", "sheet": sheet, "at": at, "shows_all": shows_all}
    if request.user.has_perm("conflicts.add_variancesignature"):
        context["variances"] = Variance.objects.to_be_signed_by(request.user.pk)[:NEEDS_SHOWN]
    return render(request, "conflicts/home.html", context)


@may_view
@never_cache
@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """Show every record that holds what was asked for."""
    form = SearchForm(request.GET)
    lists = find(form.cleaned_data["q"], request.user) if form.is_valid() else []
    context = {"section": "search", "form": form, "search_text": request.GET.get("q", ""), "lists": lists}
    return render(request, "conflicts/search.html", context)
