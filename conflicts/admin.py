"""Admin screens of bores, and of their computed figures to look at."""

from typing import Any

from django.contrib import admin
from django.contrib.admin import RelatedOnlyFieldListFilter as OwnOnly
from django.db.models import QuerySet
from django.http import HttpRequest

from conflicts.forms.bore import BoreForm
from conflicts.models import Assessment, Bore, Crossing, DrilledAloneCrossing, Pit, Reassessment
from conflicts.reassess import queue_again
from locates.admin_changes import JobChangesMixin, OwnCompanyChoices
from locates.forms.geometry import GEOMETRY_AS_TEXT


class PitInline(OwnCompanyChoices, admin.TabularInline):
    """Pits on the page of their bore."""

    model = Pit
    extra = 0
    can_delete = False
    max_num = 2
    formfield_overrides = GEOMETRY_AS_TEXT


@admin.register(Bore)
class BoreAdmin(JobChangesMixin):
    """Planned bores with their pits."""

    form = BoreForm
    formfield_overrides = GEOMETRY_AS_TEXT
    list_display = (
        "name",
        "job",
        "alignment_length_m",
        "final_diameter_m",
        "planned_start_at",
        "planned_finish_at",
    )
    list_filter = (("job", OwnOnly), "profile_by")
    list_select_related = ("job",)
    search_fields = ("name", "job__name", "product")
    date_hierarchy = "planned_start_at"
    autocomplete_fields = ("job",)
    readonly_fields = ("alignment_length_m",)
    inlines = (PitInline,)


class DerivedAdmin(JobChangesMixin):
    """Figures that are computed: nobody writes them."""

    job_lookup = "bore__job_id"
    company = "bore__job__organisation"

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Nobody adds what is computed."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody changes what is computed."""
        return False


@admin.register(Assessment)
class AssessmentAdmin(DerivedAdmin):
    """What was last computed of each bore."""

    list_display = ("bore", "length_m", "assessed_at", "inputs_digest")
    list_filter = (("bore__job", OwnOnly),)
    list_select_related = ("bore",)
    search_fields = ("bore__name", "bore__job__name")


@admin.register(Crossing)
class CrossingAdmin(DerivedAdmin):
    """The crossings that were last computed."""

    list_display = (
        "bore",
        "station_m",
        "mark_ref",
        "operator",
        "facility_type",
        "kind",
        "verdict",
        "separation_m",
        "worst_case_m",
        "required_m",
    )
    list_filter = ("verdict", "kind", "facility_type", ("bore__job", OwnOnly))
    list_select_related = ("bore",)
    search_fields = ("mark_ref", "operator", "bore__name")


@admin.register(DrilledAloneCrossing)
class DrilledAloneCrossingAdmin(DerivedAdmin):
    """The lines that drilled holes alone meet, as last computed."""

    list_display = (
        "bore",
        "station_m",
        "mark_ref",
        "operator",
        "facility_type",
        "kind",
        "leg",
        "verdict",
        "worst_case_m",
        "required_m",
    )
    list_filter = ("verdict", "kind", "facility_type", ("bore__job", OwnOnly))
    list_select_related = ("bore",)
    search_fields = ("mark_ref", "operator", "bore__name")


@admin.register(Reassessment)
class ReassessmentAdmin(DerivedAdmin):
    """Bores that wait for new figures, and those that could not be computed, with the reason."""

    list_display = ("bore", "state", "attempts", "queued_at", "started_at", "failure")
    list_filter = ("state", ("bore__job", OwnOnly))
    list_select_related = ("bore",)
    search_fields = ("bore__name", "bore__job__name", "failure")
    actions = ("compute_again",)

    @admin.action(description="Compute the ticked bores again", permissions=["view"])
    def compute_again(self, request: HttpRequest, queryset: QuerySet) -> None:
        """Give bores that failed all their attempts back."""
        queue_again(list(queryset.values_list("bore", flat=True)))
