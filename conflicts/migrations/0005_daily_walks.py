"""Walks along a bore on the day of drilling, signed by the foreman."""

import django.contrib.postgres.fields
import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {roles.FOREMAN: ("dailywalk",)}


def grant(apps, schema_editor):
    """Let the foreman sign walks and every role read them."""
    roles.grant(apps, schema_editor, "conflicts", {}, MAY_ADD)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_dailywalk"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ("conflicts", "0004_retiring"),
        ("locates", "0019_checks_never_waived"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='DailyWalk',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('walked_at', models.DateTimeField()),
                ('walked_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='walked by, name')),
                ('marks_intact', models.BooleanField(verbose_name='marks seen intact')),
                ('device_checked', models.BooleanField(verbose_name='locating device checked')),
                ('device', models.CharField(blank=True, max_length=200, verbose_name='locating device')),
                ('holes_open', models.BooleanField(verbose_name='test holes open')),
                ('remarks', models.TextField(blank=True)),
                ('photo_sha256s', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(max_length=64), blank=True, default=list, help_text='Of the photos that were signed with it, in order of their digests.', size=None, verbose_name='SHA-256 of its photos')),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='walks', to='conflicts.bore')),
                ('walked_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='walked by')),
            ],
            options={
                'ordering': ('bore_id', 'walked_at'),
                'indexes': [models.Index(fields=['bore', '-walked_at'], name='daily_walk_latest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('walked_by_name__regex', '\\S')), name='daily_walk_walked_by_name_written', violation_error_message='walked_by_name: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('device_checked', False), ('device__regex', '\\S'), _connector='OR'), name='daily_walk_checked_device_named', violation_error_message='device: accepted is the name of the device that was checked.')],
            },
        ),
        migrations.RunPython(grant, take_back),
    ]
