"""The work of a worker on a large file, and how far the position of a surface feature may be off."""

import django.db.models.deletion
from django.db import migrations, models

from locates import roles


def grant(apps, schema_editor):
    """Let every role look at the work on files; nobody writes it but the program."""
    roles.grant(apps, schema_editor, "locates", {})


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0013_bulk_entry"),
    ]

    operations = [
        migrations.CreateModel(
            name="ImportWork",
            fields=[
                ("id", models.AutoField(primary_key=True, serialize=False)),
                ("brought", models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name="work", to="locates.vectorimport")),
                ("kind", models.CharField(choices=[("check", "check"), ("store", "store")], max_length=10)),
                ("state", models.CharField(choices=[("queued", "queued"), ("running", "running"), ("done", "done"), ("given up", "given up")], max_length=10)),
                ("attempts", models.PositiveSmallIntegerField(verbose_name="attempts since it was asked for")),
                ("phase", models.CharField(blank=True, max_length=10)),
                ("rows_done", models.PositiveIntegerField(verbose_name="rows done in this phase")),
                ("rows_total", models.PositiveIntegerField(verbose_name="rows of the file")),
                ("rung_at", models.DateTimeField(verbose_name="last called out at")),
                ("started_at", models.DateTimeField(null=True)),
                ("finished_at", models.DateTimeField(null=True)),
                ("outcome", models.JSONField(default=dict)),
                ("failure", models.TextField(blank=True)),
            ],
            options={
                "ordering": ("id",),
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("kind__in", ["check", "store"])), name="import_work_kind_known"),
                    models.CheckConstraint(condition=models.Q(("state__in", ["queued", "running", "done", "given up"])), name="import_work_state_known"),
                    models.CheckConstraint(condition=models.Q(models.Q(("state", "given up"), _negated=True), models.Q(("failure", ""), _negated=True), _connector="OR"), name="import_work_failure_told"),
                    models.CheckConstraint(condition=models.Q(models.Q(("finished_at__isnull", False), ("state", "done")), models.Q(models.Q(("state", "done"), _negated=True), ("finished_at", None)), _connector="OR"), name="import_work_done_at_a_moment"),
                ],
            },
        ),
        migrations.AddField(
            model_name="surfacefeature",
            name="error_m",
            field=models.FloatField(blank=True, null=True, verbose_name="how far the position may be off (m)"),
        ),
        migrations.AddConstraint(
            model_name="surfacefeature",
            constraint=models.CheckConstraint(condition=models.Q(("error_m__gte", 0.0), ("error_m__lt", float("inf"))), name="surface_feature_error_m_not_negative", violation_error_message="error_m: accepted is a number, 0 or more."),
        ),
        migrations.RunPython(grant, migrations.RunPython.noop),
    ]
