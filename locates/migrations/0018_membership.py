"""Who belongs to which company."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

BEGUN_AT = (
    ("ticketmatter", "matter_due", ["organisation", "due_at", "id"]),
    ("ticketmatter", "matter_kind_due", ["organisation", "matter", "due_at", "id"]),
    ("ticketstanding", "standing_called", ["organisation", "called_at", "ticket"]),
    ("ticketstanding", "standing_state_called", ["organisation", "state", "called_at", "ticket"]),
)


def put_into_the_only_company(apps, schema_editor):
    """Keep everybody's jobs in sight where there is one company alone; where there are more, nobody can tell."""
    database = schema_editor.connection.alias
    organisations = list(apps.get_model("locates", "Organisation").objects.using(database).all()[:2])
    if len(organisations) != 1:
        return
    membership = apps.get_model("locates", "Membership")
    app_label, model_name = settings.AUTH_USER_MODEL.split(".")
    people = apps.get_model(app_label, model_name).objects.using(database).order_by("pk")
    membership.objects.using(database).bulk_create(
        membership(user=person, organisation=organisations[0]) for person in people
    )


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0017_photos"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Membership",
            fields=[
                ("id", models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                (
                    "organisation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="memberships",
                        to="locates.organisation",
                    ),
                ),
                (
                    "user",
                    models.OneToOneField(
                        error_messages={"unique": "user: accepted is a person who belongs to no company yet."},
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="membership",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="person",
                    ),
                ),
            ],
            options={"ordering": ("organisation__name", "user__username")},
        ),
        # A company's lists begin at an index of its own rows.
        *(
            operation
            for model, name, fields in BEGUN_AT
            for operation in (
                migrations.RemoveIndex(model_name=model, name=name),
                migrations.AddIndex(model_name=model, index=models.Index(fields=fields, name=name)),
            )
        ),
        migrations.RunPython(put_into_the_only_company, migrations.RunPython.noop),
    ]
