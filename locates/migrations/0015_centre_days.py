"""Days that one-call centres count their own way, and the tickets to look at since one was told."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_WRITE = {roles.COORDINATOR: ("centreday",)}


def grant(apps, schema_editor):
    """Let those who log tickets keep the days; reviews are written by the program alone."""
    roles.grant(apps, schema_editor, "locates", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__regex="_(centreday|dayreview)$"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ('locates', '0014_import_progress'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='CentreDay',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('code', models.CharField(max_length=20, verbose_name='jurisdiction')),
                ('day', models.DateField(help_text='In the zone in which the law counts.')),
                ('is_working', models.BooleanField(verbose_name='counts as a working day')),
                ('words', models.CharField(help_text='What the day is, and where that was heard or read.', max_length=200, verbose_name='why, and who says so')),
                ('made_at', models.DateTimeField(auto_now_add=True, verbose_name='added at')),
                ('retired_at', models.DateTimeField(editable=False, null=True)),
                ('made_by', models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='added by')),
                ('retired_by', models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('code', 'day', 'made_at'),
            },
        ),
        migrations.CreateModel(
            name='DayReview',
            fields=[
                ('ticket', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='day_review', serialize=False, to='locates.ticket')),
                ('asked_at', models.DateTimeField(auto_now=True)),
                ('centre_day', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='locates.centreday')),
            ],
            options={
                'ordering': ('asked_at',),
            },
        ),
        migrations.AddConstraint(
            model_name='centreday',
            constraint=models.UniqueConstraint(condition=models.Q(('retired_at__isnull', True)), fields=('code', 'day'), name='centre_day_once', violation_error_message='day: accepted is a day of which nothing is said yet.'),
        ),
        migrations.AddConstraint(
            model_name='centreday',
            constraint=models.CheckConstraint(condition=models.Q(('code__regex', '\\S')), name='centre_day_code_written', violation_error_message='code: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='centreday',
            constraint=models.CheckConstraint(condition=models.Q(('words__regex', '\\S')), name='centre_day_words_written', violation_error_message='words: accepted is text that is not blank.'),
        ),
        migrations.RunPython(grant, take_back),
    ]
