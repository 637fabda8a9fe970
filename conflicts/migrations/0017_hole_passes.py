"""Passes of the hole after the pilot, reamers and the pullback, and withdrawals of wrong entries."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {roles.FOREMAN: ("holepass", "holepasswithdrawal")}

OF_BORE = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"
OF_PASS = (
    "(SELECT b.job_id FROM public.conflicts_holepass p JOIN public.conflicts_bore b ON b.id = p.bore_id"
    " WHERE p.id = {row}.hole_pass_id)"
)
KEPT = {"conflicts_holepass": OF_BORE, "conflicts_holepasswithdrawal": OF_PASS}
"""Tables whose every change is kept and of which nothing is changed, and how the job of a row is found."""


def grant(apps, schema_editor):
    """Let the foreman log passes and withdraw them, and every role read them."""
    roles.grant(apps, schema_editor, "conflicts", {}, MAY_ADD)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for model in MAY_ADD[roles.FOREMAN]:
        for permission in permissions.filter(codename__endswith=f"_{model}"):
            permission.group_set.clear()


def keep(apps, schema_editor):
    """Have the database keep the record of them from the first row on, and let nobody change one."""
    with schema_editor.connection.cursor() as cursor:
        for table, job in KEPT.items():
            cursor.execute("SELECT locates_keep_record_of(%s::regclass, %s)", [table, job])
            cursor.execute("SELECT locates_seal(%s::regclass)", [table])


def leave(apps, schema_editor):
    """Take the triggers away again."""
    with schema_editor.connection.cursor() as cursor:
        for table in KEPT:
            cursor.execute("SELECT locates_leave_record_of(%s::regclass)", [table])


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0016_variance_evidence'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='HolePass',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('kind', models.CharField(choices=[('reaming', 'reaming'), ('pullback', 'pullback')], max_length=10)),
                ('diameter_m', models.FloatField(verbose_name='reamer, or circle round the conduits, diameter (m)')),
                ('conduits', models.JSONField(blank=True, default=list, help_text='Of a pullback: how many, and their outside size (m).', verbose_name='conduits')),
                ('is_measured', models.BooleanField(default=False, help_text='Whether the circle round the conduits was measured.', verbose_name='circle measured')),
                ('direction', models.CharField(blank=True, choices=[('to_rig', 'towards the rig'), ('from_rig', 'away from the rig')], max_length=10)),
                ('from_station_m', models.FloatField(blank=True, help_text='As it was stated along the alignment of then.', null=True, verbose_name='from station (m)')),
                ('to_station_m', models.FloatField(blank=True, null=True, verbose_name='to station (m)')),
                ('made_at', models.DateTimeField(verbose_name='made at')),
                ('confirmed', models.JSONField(blank=True, default=list, help_text='What was asked about this pass, and kept.', verbose_name='confirmed oddities')),
                ('remarks', models.TextField(blank=True)),
                ('logged_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='logged by, name')),
                ('logged_at', models.DateTimeField()),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hole_passes', to='conflicts.bore')),
                ('logged_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='logged by')),
            ],
            options={
                'ordering': ('bore_id', 'logged_at', 'entered_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='HolePassWithdrawal',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('reason', models.TextField()),
                ('withdrawn_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='withdrawn by, name')),
                ('withdrawn_at', models.DateTimeField()),
                ('hole_pass', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='conflicts.holepass', verbose_name='pass')),
                ('withdrawn_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='withdrawn by')),
            ],
            options={
                'ordering': ('withdrawn_at', 'entered_at', 'id'),
            },
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['reaming', 'pullback'])), name='hole_pass_kind_known', violation_error_message='kind: accepted are reaming, pullback.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('direction__in', ['', 'to_rig', 'from_rig'])), name='hole_pass_direction_known', violation_error_message='direction: accepted are nothing, to_rig, from_rig.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('diameter_m__gt', 0.0), ('diameter_m__lt', float("inf"))), name='hole_pass_diameter_m_positive', violation_error_message='diameter_m: accepted is a number above 0.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('from_station_m__gte', 0.0), ('from_station_m__lt', float("inf"))), name='hole_pass_from_station_m_not_negative', violation_error_message='from_station_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('to_station_m__gte', 0.0), ('to_station_m__lt', float("inf"))), name='hole_pass_to_station_m_not_negative', violation_error_message='to_station_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('logged_by_name__regex', '\\S')), name='hole_pass_logged_by_name_written', violation_error_message='logged_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('made_at__lte', models.F('logged_at'))), name='hole_pass_made_at_not_after_logged_at', violation_error_message='made_at: accepted is a value not after logged_at.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('conduits', []), ('is_measured', False), ('kind', 'reaming')), models.Q(('kind', 'pullback'), models.Q(('conduits', []), _negated=True)), _connector='OR'), name='hole_pass_pullback_has_conduits', violation_error_message='conduits: accepted are some for a pullback, none for a reamer.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('from_station_m__isnull', True), ('to_station_m__isnull', True)), models.Q(('from_station_m__isnull', False), ('from_station_m__lt', models.F('to_station_m')), ('kind', 'reaming'), ('to_station_m__isnull', False)), _connector='OR'), name='hole_pass_stations_in_order', violation_error_message='from_station_m: accepted for a reamer is a station before to_station_m, or neither; the conduits go through all of the bore.'),
        ),
        migrations.AddConstraint(
            model_name='holepasswithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('reason__regex', '\\S')), name='hole_pass_withdrawal_reason_written', violation_error_message='reason: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='holepasswithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('withdrawn_by_name__regex', '\\S')), name='hole_pass_withdrawal_withdrawn_by_name_written', violation_error_message='withdrawn_by_name: accepted is text that is not blank.'),
        ),
        migrations.RunPython(grant, take_back),
        migrations.RunPython(keep, leave),
    ]
