"""Admin screens of what was called in, painted and found, and of the reference data behind it."""

from django.contrib import admin
from django.contrib.admin import RelatedOnlyFieldListFilter as OwnOnly
from django.contrib.auth.admin import GroupAdmin, UserAdmin
from django.contrib.auth.models import Group, User
from django.db.models import QuerySet
from django.forms import BaseInlineFormSet, ModelForm
from django.http import HttpRequest
from django.utils import timezone

from locates.admin_changes import JobChangesMixin, OwnCompanyChoices, narrowed
from locates.forms.geometry import GEOMETRY_AS_TEXT
from locates.models import (
    CentreDay,
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    JurisdictionRule,
    Linework,
    Mark,
    Membership,
    Organisation,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from locates.models.ticket_reckoning import ask_again

admin.site.unregister((User, Group))


@admin.register(User)
class AccountAdmin(UserAdmin):
    """Accounts; who leaves is made inactive, for records and signatures go on naming the account."""

    def has_delete_permission(self, request: HttpRequest, obj: User | None = None) -> bool:
        """Nobody deletes an account."""
        return False


@admin.register(Group)
class RoleAdmin(GroupAdmin):
    """Roles; migrations make them, and pages ask for them by name."""

    def has_delete_permission(self, request: HttpRequest, obj: Group | None = None) -> bool:
        """Nobody deletes a role."""
        return False


@admin.register(Organisation)
class OrganisationAdmin(admin.ModelAdmin):
    """Companies; no assessment rests on a company's name, and the board on its lead time."""

    search_fields = ("name",)

    def get_queryset(self, request: HttpRequest) -> QuerySet:
        """The viewer's own company; whoever keeps the accounts sees all."""
        return narrowed(super().get_queryset(request), request, "pk")

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Whoever keeps the accounts begins a company; a role keeps its own."""
        return bool(request.user.is_superuser)

    def has_delete_permission(self, request: HttpRequest, obj: Organisation | None = None) -> bool:
        """Nobody deletes a company: what is kept of its jobs names it."""
        return False

    def save_model(self, request: HttpRequest, obj: Organisation, form: ModelForm, change: bool) -> None:
        """Save, and have the next sweep hold every ticket against the lead time."""
        super().save_model(request, obj, form, change)
        ask_again(obj.pk, timezone.now())


@admin.register(Membership)
class MembershipAdmin(admin.ModelAdmin):
    """Who belongs to which company; whoever keeps the accounts says so, once.

    What somebody was told, and what they signed, stays with the account: a person who goes to another company
    gets another account.
    """

    list_display = ("user", "organisation")
    list_filter = (("organisation", OwnOnly),)
    list_select_related = ("user", "organisation")
    search_fields = ("user__username", "organisation__name")
    autocomplete_fields = ("user", "organisation")

    def get_queryset(self, request: HttpRequest) -> QuerySet:
        """The people of the viewer's own company."""
        return narrowed(super().get_queryset(request), request, "organisation")

    def has_change_permission(self, request: HttpRequest, obj: Membership | None = None) -> bool:
        """Nobody is moved to another company."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Membership | None = None) -> bool:
        """Nor taken out of one and put into another."""
        return False


@admin.register(JurisdictionRule)
class JurisdictionRuleAdmin(JobChangesMixin):
    """One-call rules, shipped and own, looked at here: a company makes its own versions on the rule's page.

    Whoever keeps the accounts may mend one; a change touches every job that stands under it.
    """

    job_lookup = "jobs__pk"
    company = "organisation"
    list_display = (
        "code",
        "organisation",
        "version",
        "tolerance_zone_m",
        "tolerance_is_sure",
        "readings_agree",
        "boring_must_be_declared",
        "every_line_must_be_exposed",
        "sewer_camera_required",
        "checked_on",
    )
    list_filter = (
        "readings_agree",
        "tolerance_is_sure",
        "boring_must_be_declared",
        "every_line_must_be_exposed",
    )
    search_fields = ("code", "citation", "trenchless_rule")

    def has_add_permission(self, request: HttpRequest) -> bool:
        """What is added here may count for every company."""
        return bool(request.user.is_superuser)

    def has_change_permission(self, request: HttpRequest, obj: JurisdictionRule | None = None) -> bool:
        """No role changes a rule: the shipped ones are all companies', an own one is followed by another."""
        return bool(request.user.is_superuser)


@admin.register(CentreDay)
class CentreDayAdmin(admin.ModelAdmin):
    """Days that centres count their own way: looked at here, kept on their page, which asks for reviews."""

    list_display = ("code", "organisation", "day", "is_working", "words", "made_by", "made_at", "retired_at")
    list_filter = ("code", "is_working")
    list_select_related = ("made_by", "organisation")
    search_fields = ("code", "words")

    def get_queryset(self, request: HttpRequest) -> QuerySet:
        """The days of the viewer's own company, and those of all."""
        return narrowed(super().get_queryset(request), request, "organisation")

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Nobody adds a day here."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: CentreDay | None = None) -> bool:
        """Nobody changes one."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: CentreDay | None = None) -> bool:
        """Nobody deletes one."""
        return False


@admin.register(FacilityOperator)
class FacilityOperatorAdmin(JobChangesMixin):
    """Owners of buried lines."""

    list_display = ("name", "job", "emergency_phone")
    list_filter = (("job", OwnOnly),)
    list_select_related = ("job",)
    search_fields = ("name", "job__name")
    autocomplete_fields = ("job",)


@admin.register(ClearanceRequirement)
class ClearanceRequirementAdmin(JobChangesMixin):
    """Separations that a job demands."""

    list_display = ("job", "operator", "facility_type", "crossing_m", "alongside_m")
    list_filter = ("facility_type", ("job", OwnOnly))
    list_select_related = ("job", "operator")
    search_fields = ("job__name", "operator__name")
    autocomplete_fields = ("job", "operator")


class RequirementInline(OwnCompanyChoices, admin.TabularInline):
    """Requirements on the page of their job."""

    model = ClearanceRequirement
    extra = 0
    can_delete = False
    autocomplete_fields = ("operator",)


class OperatorInline(OwnCompanyChoices, admin.TabularInline):
    """Operators on the page of their job."""

    model = FacilityOperator
    extra = 0
    can_delete = False


@admin.register(Job)
class JobAdmin(JobChangesMixin):
    """Jobs with their operators and requirements."""

    job_lookup = "pk"
    company = "organisation"
    list_display = ("name", "organisation", "jurisdiction", "time_zone", "show_units", "changed_at")
    list_filter = (("organisation", OwnOnly), "jurisdiction", "show_units")
    list_select_related = ("organisation", "jurisdiction")
    search_fields = ("name", "organisation__name")
    autocomplete_fields = ("organisation", "jurisdiction")
    readonly_fields = ("created_at", "changed_at")
    inlines = (OperatorInline, RequirementInline)

    def get_readonly_fields(self, request: HttpRequest, obj: Job | None = None) -> tuple[str, ...]:
        """The mean height is fixed once the job is there: the stations of its bores were measured at it."""
        return self.readonly_fields if obj is None else (*self.readonly_fields, "mean_height_m")


class ResponseInline(OwnCompanyChoices, admin.TabularInline):
    """Answers on the page of their ticket: a new one is added, an earlier one stays as it was given."""

    model = Response
    extra = 0
    fields = ("sequence", "operator", "response", "responded_at", "note")
    readonly_fields = ("sequence",)
    autocomplete_fields = ("operator",)
    can_delete = False

    def has_change_permission(self, request: HttpRequest, obj: Ticket | None = None) -> bool:
        """Nobody rewrites what an operator answered."""
        return False


@admin.register(Ticket)
class TicketAdmin(JobChangesMixin):
    """One-call tickets with the history of their responses."""

    formfield_overrides = GEOMETRY_AS_TEXT
    list_display = ("number", "job", "ticket_kind", "called_at", "legal_start_at", "expires_at")
    list_filter = ("ticket_kind", ("job", OwnOnly))
    list_select_related = ("job",)
    search_fields = ("number", "job__name")
    date_hierarchy = "called_at"
    autocomplete_fields = ("job",)
    readonly_fields = ("dates_rule", "computed_dates", "reviewed_rule", "work_finished_by")
    inlines = (ResponseInline,)

    def save_formset(
        self, request: HttpRequest, form: ModelForm, formset: BaseInlineFormSet, change: bool
    ) -> None:
        """Give each new response its place in the ticket's history."""
        # Whoever else answers on this ticket at this moment waits, so that no place is given twice.
        Ticket.objects.select_for_update().get(pk=form.instance.pk)
        for response in formset.save(commit=False):
            response.sequence = Response.objects.next_sequence(form.instance)
            response.save()
        formset.save_m2m()


@admin.register(Mark)
class MarkAdmin(JobChangesMixin):
    """Painted lines and points."""

    formfield_overrides = GEOMETRY_AS_TEXT
    list_display = ("ref", "job", "operator", "facility_type", "marked_at", "is_intact", "re_marked_at")
    list_filter = ("facility_type", "is_intact", ("job", OwnOnly))
    list_select_related = ("job", "operator")
    search_fields = ("ref", "operator__name", "job__name", "ticket__number")
    date_hierarchy = "marked_at"
    autocomplete_fields = ("job", "operator", "ticket")


@admin.register(TestHole)
class TestHoleAdmin(JobChangesMixin):
    """Test holes."""

    # Not a test class, whatever its name says to pytest.
    __test__ = False

    formfield_overrides = GEOMETRY_AS_TEXT
    list_display = ("ref", "job", "mark", "found", "depth_to_top_m", "dug_depth_m", "measured_at", "is_open")
    list_filter = ("found", "is_open", ("job", OwnOnly))
    list_select_related = ("job", "mark", "mark__operator")
    search_fields = ("ref", "mark__ref", "job__name")
    date_hierarchy = "measured_at"
    autocomplete_fields = ("job", "mark", "ticket")


@admin.register(SurfaceFeature)
class SurfaceFeatureAdmin(JobChangesMixin):
    """Visible evidence of buried lines."""

    formfield_overrides = GEOMETRY_AS_TEXT
    list_display = ("ref", "job", "feature_type", "facility_type", "explained_by_mark", "signed_off_reason")
    list_filter = ("feature_type", "facility_type", ("job", OwnOnly))
    list_select_related = ("job", "explained_by_mark", "explained_by_mark__operator")
    search_fields = ("ref", "job__name", "explained_by_mark__ref")
    autocomplete_fields = ("job", "explained_by_mark")


@admin.register(GroundPoint)
class GroundPointAdmin(JobChangesMixin):
    """Surveyed heights of the ground."""

    formfield_overrides = GEOMETRY_AS_TEXT
    list_display = ("id", "job", "elevation_m")
    list_filter = (("job", OwnOnly),)
    list_select_related = ("job",)
    search_fields = ("job__name",)
    autocomplete_fields = ("job",)


@admin.register(Linework)
class LineworkAdmin(JobChangesMixin):
    """The drawn base of the map."""

    formfield_overrides = GEOMETRY_AS_TEXT
    list_display = ("feature_type", "label", "job")
    list_filter = ("feature_type", ("job", OwnOnly))
    list_select_related = ("job",)
    search_fields = ("label", "job__name")
    autocomplete_fields = ("job",)
