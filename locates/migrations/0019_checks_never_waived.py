"""Which checks behind a release nobody may excuse, for each jurisdiction, and why."""

import django.contrib.postgres.fields
from django.db import migrations, models

import locates.models.jurisdiction_rule


class Migration(migrations.Migration):

    dependencies = [("locates", "0018_membership")]

    operations = [
        migrations.AddField(
            model_name="jurisdictionrule",
            name="checks_never_waived",
            field=django.contrib.postgres.fields.ArrayField(
                base_field=models.CharField(max_length=20),
                blank=True,
                default=locates.models.jurisdiction_rule.law_of_every_place,
                help_text="Checks behind a release that no variance may excuse here, by their codes.",
                size=None,
            ),
        ),
        migrations.AddField(
            model_name="jurisdictionrule",
            name="never_waived_because",
            field=models.TextField(
                blank=True,
                default=locates.models.jurisdiction_rule.NEVER_WAIVED_BECAUSE,
                help_text="What a person is told who asks for one.",
            ),
        ),
    ]
