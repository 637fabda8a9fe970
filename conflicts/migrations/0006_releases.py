"""Variances, and the releases of bores, each signed and never changed."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {
    roles.COORDINATOR: ("variance",),
    roles.FOREMAN: ("variance", "release", "releasewithdrawal"),
    roles.SAFETY_MANAGER: ("variance", "variancesignature", "varianceend", "releasewithdrawal"),
}


def grant(apps, schema_editor):
    """Let each role sign what is its own, and every role read all of it."""
    roles.grant(apps, schema_editor, "conflicts", {}, MAY_ADD)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for model in ('variance', 'variancesignature', 'varianceend', 'release', 'releasewithdrawal'):
        for permission in permissions.filter(codename__endswith=f"_{model}"):
            permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ("conflicts", "0005_daily_walks"),
        ("locates", "0019_checks_never_waived"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Release',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('document', models.JSONField(help_text='The assessment document, whole, as it was signed.', verbose_name='assessment')),
                ('inputs_digest', models.CharField(max_length=64, verbose_name='digest of the inputs')),
                ('grounds_digest', models.CharField(max_length=64, verbose_name='digest of the grounds')),
                ('last_event_id', models.BigIntegerField(help_text='The last change of any record that was known then: a later one of its grounds ends it.')),
                ('shift_from', models.DateTimeField()),
                ('shift_until', models.DateTimeField()),
                ('crew', models.CharField(max_length=200)),
                ('rig', models.CharField(max_length=200)),
                ('signed_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='signed by, name')),
                ('signed_at', models.DateTimeField()),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='releases', to='conflicts.bore')),
                ('signed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='signed by')),
            ],
            options={
                'ordering': ('bore_id', '-signed_at'),
            },
        ),
        migrations.CreateModel(
            name='ReleaseWithdrawal',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('withdrawn_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='withdrawn by, name')),
                ('withdrawn_at', models.DateTimeField()),
                ('reason', models.TextField()),
                ('release', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='conflicts.release')),
                ('withdrawn_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='withdrawn by')),
            ],
            options={
                'ordering': ('-withdrawn_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Variance',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('subject', models.CharField(choices=[('check', 'a check'), ('crossing', 'the clearance of a crossing'), ('watch', 'the watch of a crossing')], max_length=10)),
                ('check_code', models.CharField(blank=True, choices=[('tickets', 'tickets'), ('responses', 'operators’ responses'), ('crossings', 'crossings'), ('surface', 'surface evidence'), ('profile', 'profile'), ('day', 'the day’s walk'), ('watch_holes', 'watch holes'), ('duties', 'duties of the place')], max_length=20, verbose_name='check')),
                ('kind', models.CharField(blank=True, choices=[('crossing', 'crossing'), ('alongside', 'alongside')], max_length=10)),
                ('station_m', models.FloatField(blank=True, null=True, verbose_name='station (m)')),
                ('reason', models.TextField()),
                ('evidence', models.TextField(blank=True, help_text='What shows that it is safe, and where it is kept.')),
                ('requested_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='requested by, name')),
                ('requested_at', models.DateTimeField()),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='variances', to='conflicts.bore')),
                ('mark', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='variances', to='locates.mark')),
                ('requested_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='requested by')),
            ],
            options={
                'ordering': ('-requested_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='VarianceEnd',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('ended_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='ended by, name')),
                ('ended_at', models.DateTimeField()),
                ('reason', models.TextField()),
                ('ended_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='ended by')),
                ('variance', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='end', to='conflicts.variance')),
            ],
            options={
                'ordering': ('-ended_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='VarianceSignature',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('signed_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='signed by, name')),
                ('signed_at', models.DateTimeField()),
                ('valid_from', models.DateTimeField()),
                ('valid_until', models.DateTimeField()),
                ('remarks', models.TextField(blank=True)),
                ('signed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='signed by')),
                ('variance', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='signature', to='conflicts.variance')),
            ],
            options={
                'ordering': ('-signed_at', 'id'),
            },
        ),
        migrations.AddIndex(
            model_name='release',
            index=models.Index(fields=['bore', '-signed_at'], name='release_latest'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('inputs_digest__regex', '^[0-9a-f]{64}$')), name='release_inputs_digest_sound', violation_error_message='inputs_digest: accepted are 64 hexadecimal digits.'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('grounds_digest__regex', '^[0-9a-f]{64}$')), name='release_grounds_digest_sound', violation_error_message='grounds_digest: accepted are 64 hexadecimal digits.'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('crew__regex', '\\S')), name='release_crew_written', violation_error_message='crew: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('rig__regex', '\\S')), name='release_rig_written', violation_error_message='rig: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('signed_by_name__regex', '\\S')), name='release_signed_by_name_written', violation_error_message='signed_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('shift_from__lt', models.F('shift_until'))), name='release_shift_from_before_shift_until', violation_error_message='shift_from: accepted is a value before shift_until.'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('signed_at__lt', models.F('shift_until'))), name='release_signed_at_before_shift_until', violation_error_message='signed_at: accepted is a value before shift_until.'),
        ),
        migrations.AddConstraint(
            model_name='releasewithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('withdrawn_by_name__regex', '\\S')), name='release_withdrawal_withdrawn_by_name_written', violation_error_message='withdrawn_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='releasewithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('reason__regex', '\\S')), name='release_withdrawal_reason_written', violation_error_message='reason: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('subject__in', ['check', 'crossing', 'watch'])), name='variance_subject_known', violation_error_message='subject: accepted are check, crossing, watch.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('check_code__in', ['', 'tickets', 'responses', 'crossings', 'surface', 'profile', 'day', 'watch_holes', 'duties'])), name='variance_check_code_known', violation_error_message='check_code: accepted are nothing, tickets, responses, crossings, surface, profile, day, watch_holes, duties.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['', 'crossing', 'alongside'])), name='variance_kind_known', violation_error_message='kind: accepted are nothing, crossing, alongside.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('station_m__gte', 0.0), ('station_m__lt', float("inf"))), name='variance_station_m_not_negative', violation_error_message='station_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('reason__regex', '\\S')), name='variance_reason_written', violation_error_message='reason: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('requested_by_name__regex', '\\S')), name='variance_requested_by_name_written', violation_error_message='requested_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', ''), ('mark__isnull', True), ('station_m__isnull', True), ('subject', 'check'), models.Q(('check_code', ''), _negated=True)), models.Q(models.Q(('subject', 'check'), _negated=True), ('check_code', ''), ('mark__isnull', False), ('station_m__isnull', False), models.Q(('kind', ''), _negated=True)), _connector='OR'), name='variance_names_one_thing', violation_error_message='subject: accepted is a check by its code, or a crossing by its mark, kind and station.'),
        ),
        migrations.AddConstraint(
            model_name='varianceend',
            constraint=models.CheckConstraint(condition=models.Q(('ended_by_name__regex', '\\S')), name='variance_end_ended_by_name_written', violation_error_message='ended_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='varianceend',
            constraint=models.CheckConstraint(condition=models.Q(('reason__regex', '\\S')), name='variance_end_reason_written', violation_error_message='reason: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='variancesignature',
            constraint=models.CheckConstraint(condition=models.Q(('signed_by_name__regex', '\\S')), name='variance_signature_signed_by_name_written', violation_error_message='signed_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='variancesignature',
            constraint=models.CheckConstraint(condition=models.Q(('valid_from__lt', models.F('valid_until'))), name='variance_signature_valid_from_before_valid_until', violation_error_message='valid_from: accepted is a value before valid_until.'),
        ),
        migrations.AddConstraint(
            model_name='variancesignature',
            constraint=models.CheckConstraint(condition=models.Q(('signed_at__lte', models.F('valid_from'))), name='variance_signature_signed_at_not_after_valid_from', violation_error_message='signed_at: accepted is a value not after valid_from.'),
        ),
        migrations.RunPython(grant, take_back),
    ]
