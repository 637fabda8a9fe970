"""What people state of two ends of bores: kept with every change, written by the coordinator, read by all."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_WRITE = {roles.COORDINATOR: ("routejoint",)}


def grant(apps, schema_editor):
    """Let the coordinator state how ends are joined, and every role read it."""
    roles.grant(apps, schema_editor, "conflicts", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_routejoint"):
        permission.group_set.clear()


def keep(apps, schema_editor):
    """Have the database keep the record of every change from the first row on."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_routejoint'::regclass, '{row}.job_id')")


def leave(apps, schema_editor):
    """Take the triggers away again."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_leave_record_of('conflicts_routejoint'::regclass)")


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0012_as_drilled_rods'),
        ('locates', '0021_guards_always_stand'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='RouteJoint',
            fields=[
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('edited_at', models.DateTimeField(auto_now=True, null=True, verbose_name='last edited at')),
                ('retired_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('first_end', models.CharField(choices=[('entry', 'entry'), ('exit', 'exit')], max_length=10, verbose_name='its end')),
                ('second_end', models.CharField(choices=[('entry', 'entry'), ('exit', 'exit')], max_length=10, verbose_name='its end')),
                ('how', models.CharField(choices=[('pit', 'through one pit'), ('box', 'through a box'), ('trench', 'through an open trench'), ('bore', 'end to end in the ground'), ('apart', 'not joined')], max_length=10, verbose_name='how they are joined')),
                ('note', models.TextField(blank=True)),
                ('edited_by', models.ForeignKey(blank=True, db_index=False, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='last edited by')),
                ('first_bore', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='joints_from', to='conflicts.bore')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='route_joints', to='locates.job')),
                ('retired_by', models.ForeignKey(blank=True, db_index=False, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('retirement', models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='locates.retirement')),
                ('second_bore', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='joints_to', to='conflicts.bore')),
            ],
            options={
                'verbose_name': 'joint of the route',
                'verbose_name_plural': 'joints of the route',
                'ordering': ('job_id', 'id'),
                'constraints': [models.CheckConstraint(condition=models.Q(('first_end__in', ['entry', 'exit'])), name='route_joint_first_end_known', violation_error_message='first_end: accepted are entry, exit.'), models.CheckConstraint(condition=models.Q(('second_end__in', ['entry', 'exit'])), name='route_joint_second_end_known', violation_error_message='second_end: accepted are entry, exit.'), models.CheckConstraint(condition=models.Q(('how__in', ['pit', 'box', 'trench', 'bore', 'apart'])), name='route_joint_how_known', violation_error_message='how: accepted are pit, box, trench, bore, apart.'), models.CheckConstraint(condition=models.Q(('first_bore', models.F('second_bore')), _negated=True), name='route_joint_of_two_bores', violation_error_message='second_bore: accepted is another bore than the first.'), models.UniqueConstraint(condition=models.Q(('retired_at__isnull', True)), fields=('first_bore', 'first_end', 'second_bore', 'second_end'), name='route_joint_once', violation_error_message='second_end: accepted are two ends of which nothing is stated yet.')],
            },
        ),
        migrations.RunPython(grant, take_back),
        migrations.RunPython(keep, leave),
    ]
