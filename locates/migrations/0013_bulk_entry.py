"""Files of tickets and responses on their way in."""

from django.db import migrations, models

KINDS = ("mark", "test_hole", "ground_point", "linework", "ticket", "response")


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0012_ticket_intake"),
    ]

    operations = [
        migrations.AlterField(
            model_name="vectorimport",
            name="kind",
            field=models.CharField(
                choices=[
                    ("mark", "marks"),
                    ("test_hole", "test holes"),
                    ("ground_point", "ground points"),
                    ("linework", "linework"),
                    ("ticket", "tickets"),
                    ("response", "responses"),
                ],
                max_length=20,
            ),
        ),
        migrations.RemoveConstraint(model_name="vectorimport", name="vector_import_kind_known"),
        migrations.AddConstraint(
            model_name="vectorimport",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", list(KINDS))),
                name="vector_import_kind_known",
                violation_error_message=f"kind: accepted are {', '.join(KINDS)}.",
            ),
        ),
    ]
