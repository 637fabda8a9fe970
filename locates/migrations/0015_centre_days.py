"""Days that one-call centres count their own way, and the tickets to look at since one was told.

A rule that still has the clock of the program with other words on how sure it is gets a new version with those of
today: its tickets are then listed for review. A database made anew has them already.
"""

import json
from pathlib import Path

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles
from locates.one_call import rules

MAY_WRITE = {roles.COORDINATOR: ("centreday",)}


def grant(apps, schema_editor):
    """Let those who log tickets keep the days; reviews are written by the program alone."""
    roles.grant(apps, schema_editor, "locates", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__regex="_(centreday|dayreview)$"):
        permission.group_set.clear()


CLOCKS = Path(rules.__file__).with_name("clocks.json")


def without_sureness(part):
    """A clock as it counts, without how sure that is."""
    if isinstance(part, dict):
        return {name: without_sureness(value) for name, value in part.items() if name not in ("is_sure", "doubt")}
    if isinstance(part, list):
        return [without_sureness(value) for value in part]
    return part


def renew_sureness(apps, schema_editor):
    """Add a version with today's clock to each rule whose newest differs from it in how sure it is alone."""
    stored = apps.get_model("locates", "JurisdictionRule").objects.using(schema_editor.connection.alias)
    for code, clock in json.loads(CLOCKS.read_text(encoding="utf-8")).items():
        newest = stored.filter(code=code).order_by("-version").first()
        if newest is None or newest.clock == clock:
            continue
        if without_sureness(newest.clock) == without_sureness(clock):
            newest.pk, newest.version, newest.clock = uuid.uuid4(), newest.version + 1, clock
            newest.save(force_insert=True)


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
        migrations.RunPython(renew_sureness, migrations.RunPython.noop),
    ]
