"""Bores and pits are retired instead of deleted, count their versions, and are unique among live ones only."""

from django.conf import settings
from django.db import migrations, models
from django.db.models import Q
from django.db.models.deletion import SET_NULL

UNIQUE = (
    ("bore", "bore_name_once", ("job", "name"), "name: accepted is a name that no other bore of the job has."),
    ("pit", "pit_end_once", ("bore", "end"), "end: accepted is one pit at each end of a bore."),
)


def person(**options):
    """A link to a login, which outlives it."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, editable=False, db_index=False, on_delete=SET_NULL,
        related_name="+", **options
    )


def retirable_fields(record):
    """What every record that can be retired carries."""
    hidden = {"null": True, "blank": True, "editable": False}
    fields = {
        "version": models.PositiveIntegerField(default=1, editable=False),
        "edited_at": models.DateTimeField("last edited at", auto_now=True, null=True),
        "edited_by": person(verbose_name="last edited by"),
        "retired_at": models.DateTimeField(**hidden),
        "retired_by": person(),
        "retirement": models.ForeignKey("locates.retirement", on_delete=SET_NULL, related_name="+", **hidden),
    }
    return [migrations.AddField(record, name, field) for name, field in fields.items()]


def unique_among_live(record, name, fields, told):
    """The same constraint as before, among live records alone."""
    constraint = models.UniqueConstraint(
        fields=fields, condition=Q(retired_at__isnull=True), name=name, violation_error_message=told
    )
    return [migrations.RemoveConstraint(record, name), migrations.AddConstraint(record, constraint)]


class Migration(migrations.Migration):

    dependencies = [
        ("conflicts", "0003_reassessments"),
        ("locates", "0005_retiring"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        *(operation for record in ("bore", "pit") for operation in retirable_fields(record)),
        *(operation for one in UNIQUE for operation in unique_among_live(*one)),
    ]
