"""Records are retired instead of deleted, count their versions, and are unique among live ones only."""

from uuid import uuid4

from django.conf import settings
from django.db import migrations, models
from django.db.models import Q
from django.db.models.deletion import CASCADE, SET_NULL

RECORDS = (
    "job",
    "facilityoperator",
    "clearancerequirement",
    "ticket",
    "response",
    "mark",
    "testhole",
    "surfacefeature",
    "groundpoint",
    "linework",
)
LIVE = ("retired_at__isnull", True)
# Record, constraint, fields, what is told, and where it applies besides.
UNIQUE = (
    ("job", "job_name_once", ("organisation", "name"), "name: accepted is a name that no other job of the organisation has."),
    ("facilityoperator", "operator_name_once", ("job", "name"), "name: accepted is a name that no other operator of the job has."),
    ("clearancerequirement", "requirement_once_an_operator", ("job", "operator", "facility_type"), "operator: accepted is one requirement for an operator and type."),
    ("clearancerequirement", "requirement_once_a_type", ("job", "facility_type"), "facility_type: accepted is one requirement for each facility type."),
    ("ticket", "ticket_number_once", ("job", "number"), "number: accepted is a number that no other ticket of the job has."),
    ("mark", "mark_ref_once", ("job", "ref"), "ref: accepted is a reference that no other mark of the job has."),
    ("testhole", "test_hole_ref_once", ("job", "ref"), "ref: accepted is a reference that no other test hole has."),
    ("surfacefeature", "surface_feature_ref_once", ("job", "ref"), "ref: accepted is a reference that no other surface feature has."),
)
ALSO_WHERE = {"requirement_once_a_type": ("operator__isnull", True)}


def person(**options):
    """A link to a login, which outlives it."""
    return models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=SET_NULL, related_name="+", **options)


def retirable_fields(record):
    """What every record that can be retired carries."""
    hidden = {"blank": True, "editable": False}
    fields = {
        "version": models.PositiveIntegerField(default=1, editable=False),
        "edited_at": models.DateTimeField("last edited at", auto_now=True, null=True),
        "edited_by": person(verbose_name="last edited by", db_index=False, **hidden),
        "retired_at": models.DateTimeField(null=True, **hidden),
        "retired_by": person(db_index=False, **hidden),
        "retirement": models.ForeignKey("locates.retirement", null=True, on_delete=SET_NULL, related_name="+", **hidden),
    }
    return [migrations.AddField(record, name, field) for name, field in fields.items()]


def unique_among_live(record, name, fields, told):
    """The same constraint as before, among live records alone."""
    where = Q(ALSO_WHERE[name], LIVE) if name in ALSO_WHERE else Q(LIVE)
    constraint = models.UniqueConstraint(fields=fields, condition=where, name=name, violation_error_message=told)
    return [migrations.RemoveConstraint(record, name), migrations.AddConstraint(record, constraint)]


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0004_roles"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            "Retirement",
            [
                ("id", models.UUIDField(primary_key=True, default=uuid4, editable=False, serialize=False)),
                ("job", models.ForeignKey("locates.job", on_delete=CASCADE, related_name="retirements")),
                ("model", models.CharField(max_length=100, help_text="Such as locates.mark.")),
                ("record_id", models.UUIDField()),
                ("name", models.TextField(help_text="What the record called itself.")),
                ("also", models.TextField(blank=True, help_text="What was retired with it, counted.")),
                ("loosened", models.JSONField(blank=True, default=list)),
                ("retired_at", models.DateTimeField()),
                ("retired_by", person()),
                ("restored_at", models.DateTimeField(blank=True, null=True)),
                ("restored_by", person(blank=True)),
            ],
            {"ordering": ("-retired_at",)},
        ),
        *(operation for record in RECORDS for operation in retirable_fields(record)),
        *(operation for one in UNIQUE for operation in unique_among_live(*one)),
    ]
