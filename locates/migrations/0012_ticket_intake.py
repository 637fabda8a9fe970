"""Patterns that read a confirmation's text."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_WRITE = {roles.COORDINATOR: ("textreader",)}


def grant(apps, schema_editor):
    """Let those who log tickets keep readers."""
    roles.grant(apps, schema_editor, "locates", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_textreader"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0011_notices"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="TextReader",
            fields=[
                ("id", models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ("name", models.CharField(max_length=100)),
                ("patterns", models.JSONField(default=dict)),
                ("sample", models.TextField(blank=True, max_length=200000)),
                ("is_in_use", models.BooleanField(default=True, verbose_name="in use")),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("edited_at", models.DateTimeField(auto_now=True, verbose_name="last edited at")),
                (
                    "edited_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "organisation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="text_readers",
                        to="locates.organisation",
                    ),
                ),
            ],
            options={
                "ordering": ("organisation__name", "name"),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("organisation", "name"),
                        name="text_reader_name_once",
                        violation_error_message=(
                            "name: accepted is a name that no other reader of the company has."
                        ),
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("name__regex", "\\S")),
                        name="text_reader_name_written",
                        violation_error_message="name: accepted is text that is not blank.",
                    ),
                ],
            },
        ),
        migrations.RunPython(grant, take_back),
    ]
