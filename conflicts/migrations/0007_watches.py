"""Watches of crossings, camera inspections, close-outs and reports of damage."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {
    roles.COORDINATOR: ("camerainspection", "damagereport"),
    roles.FOREMAN: ("crossingwatch", "camerainspection", "closeout", "damagereport"),
    roles.SAFETY_MANAGER: ("camerainspection", "closeout", "damagereport"),
}


def grant(apps, schema_editor):
    """Let each role sign what is its own, and every role read all of it."""
    roles.grant(apps, schema_editor, "conflicts", {}, MAY_ADD)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for model in ('crossingwatch', 'camerainspection', 'closeout', 'damagereport'):
        for permission in permissions.filter(codename__endswith=f"_{model}"):
            permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ("conflicts", "0006_releases"),
        ("locates", "0019_checks_never_waived"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='CameraInspection',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('stage', models.CharField(choices=[('before', 'before the bore'), ('after', 'after the pullback')], max_length=10)),
                ('inspected_at', models.DateTimeField()),
                ('inspected_by', models.CharField(help_text='Who ran the camera.', max_length=200)),
                ('result', models.CharField(choices=[('no_damage', 'no damage'), ('damage', 'damage, or a conduit in the line'), ('not_conclusive', 'not conclusive')], max_length=20)),
                ('remarks', models.TextField(blank=True, help_text='What was seen, and where the pictures are kept.')),
                ('recorded_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='recorded by, name')),
                ('photo_sha256s', models.JSONField(blank=True, default=list, verbose_name='SHA-256 of its photos')),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='camera_inspections', to='conflicts.bore')),
                ('mark', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='camera_inspections', to='locates.mark')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='recorded by')),
            ],
            options={
                'ordering': ('bore_id', 'inspected_at', 'entered_at', 'id'),
                'constraints': [models.CheckConstraint(condition=models.Q(('stage__in', ['before', 'after'])), name='camera_stage_known', violation_error_message='stage: accepted are before, after.'), models.CheckConstraint(condition=models.Q(('result__in', ['no_damage', 'damage', 'not_conclusive'])), name='camera_result_known', violation_error_message='result: accepted are no_damage, damage, not_conclusive.'), models.CheckConstraint(condition=models.Q(('inspected_by__regex', '\\S')), name='camera_inspected_by_written', violation_error_message='inspected_by: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('recorded_by_name__regex', '\\S')), name='camera_recorded_by_name_written', violation_error_message='recorded_by_name: accepted is text that is not blank.')],
            },
        ),
        migrations.CreateModel(
            name='CloseOut',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('closed_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='closed out by, name')),
                ('closed_at', models.DateTimeField()),
                ('remarks', models.TextField(blank=True)),
                ('grounds', models.JSONField(help_text='Each crossing with its watches, inspections and variances then.')),
                ('bore', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='close_out', to='conflicts.bore')),
                ('closed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='closed out by')),
            ],
            options={
                'ordering': ('-closed_at', 'id'),
                'constraints': [models.CheckConstraint(condition=models.Q(('closed_by_name__regex', '\\S')), name='close_out_closed_by_name_written', violation_error_message='closed_by_name: accepted is text that is not blank.')],
            },
        ),
        migrations.CreateModel(
            name='CrossingWatch',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('kind', models.CharField(choices=[('crossing', 'crossing'), ('alongside', 'alongside')], max_length=10)),
                ('station_m', models.FloatField(verbose_name='station (m)')),
                ('pass_made', models.CharField(choices=[('pilot', 'pilot'), ('reaming', 'reaming'), ('pullback', 'pullback')], max_length=10, verbose_name='pass')),
                ('seen', models.BooleanField(verbose_name='seen to pass')),
                ('gap_m', models.FloatField(blank=True, null=True, verbose_name='gap measured (m)')),
                ('head_depth_m', models.FloatField(blank=True, null=True, verbose_name='depth read (m)')),
                ('required_m', models.FloatField(help_text='What was asked of this crossing then.', verbose_name='required (m)')),
                ('hole_bottom_m', models.FloatField(blank=True, help_text='As recorded then; none is unknown.', null=True, verbose_name='bottom of the watch hole (m)')),
                ('watched_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='watched by, name')),
                ('watched_at', models.DateTimeField()),
                ('remarks', models.TextField(blank=True)),
                ('photo_sha256s', models.JSONField(blank=True, default=list, verbose_name='SHA-256 of its photos')),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='watches', to='conflicts.bore')),
                ('mark', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='watches', to='locates.mark')),
                ('watched_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='watched by')),
            ],
            options={
                'ordering': ('bore_id', 'watched_at', 'entered_at', 'id'),
                'indexes': [models.Index(fields=['bore', 'mark'], name='watch_of_crossing')],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['crossing', 'alongside'])), name='watch_kind_known', violation_error_message='kind: accepted are crossing, alongside.'), models.CheckConstraint(condition=models.Q(('pass_made__in', ['pilot', 'reaming', 'pullback'])), name='watch_pass_made_known', violation_error_message='pass_made: accepted are pilot, reaming, pullback.'), models.CheckConstraint(condition=models.Q(('station_m__gte', 0.0), ('station_m__lt', float("inf"))), name='watch_station_m_not_negative', violation_error_message='station_m: accepted is a number, 0 or more.'), models.CheckConstraint(condition=models.Q(('required_m__gte', 0.0), ('required_m__lt', float("inf"))), name='watch_required_m_not_negative', violation_error_message='required_m: accepted is a number, 0 or more.'), models.CheckConstraint(condition=models.Q(('head_depth_m__gte', 0.0), ('head_depth_m__lt', float("inf"))), name='watch_head_depth_m_not_negative', violation_error_message='head_depth_m: accepted is a number, 0 or more.'), models.CheckConstraint(condition=models.Q(('hole_bottom_m__gte', 0.0), ('hole_bottom_m__lt', float("inf"))), name='watch_hole_bottom_m_not_negative', violation_error_message='hole_bottom_m: accepted is a number, 0 or more.'), models.CheckConstraint(condition=models.Q(('gap_m__gt', float("-inf")), ('gap_m__lt', float("inf"))), name='watch_gap_m_finite', violation_error_message='gap_m: accepted is a finite number.'), models.CheckConstraint(condition=models.Q(('watched_by_name__regex', '\\S')), name='watch_watched_by_name_written', violation_error_message='watched_by_name: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(models.Q(('gap_m__isnull', False), ('seen', True)), models.Q(('gap_m__isnull', True), ('seen', False)), _connector='OR'), name='watch_seen_is_measured', violation_error_message='gap_m: accepted is a gap where it was seen to pass, and none where not.')],
            },
        ),
        migrations.CreateModel(
            name='DamageReport',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('kind', models.CharField(choices=[('damage', 'damage'), ('near_miss', 'near miss')], max_length=10)),
                ('happened_at', models.DateTimeField()),
                ('facility_type', models.CharField(choices=[('electric', 'electric'), ('gas_oil_steam', 'gas/oil/steam'), ('communication', 'communication'), ('potable_water', 'potable water'), ('reclaimed_water', 'reclaimed water'), ('sewer_drain', 'sewer/drain'), ('unknown', 'unknown')], max_length=20)),
                ('operator', models.CharField(blank=True, help_text='Whose line it is, where known.', max_length=200)),
                ('place', models.TextField(blank=True, help_text='Where, as one would find it again.')),
                ('what_happened', models.TextField()),
                ('who_was_called', models.TextField(blank=True, help_text='Who was called, at what time, and who came.')),
                ('reported_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='reported by, name')),
                ('photo_sha256s', models.JSONField(blank=True, default=list, verbose_name='SHA-256 of its photos')),
                ('bore', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='damage_reports', to='conflicts.bore')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='damage_reports', to='locates.job')),
                ('mark', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='damage_reports', to='locates.mark')),
                ('reported_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='reported by')),
            ],
            options={
                'ordering': ('-happened_at', 'id'),
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['damage', 'near_miss'])), name='damage_report_kind_known', violation_error_message='kind: accepted are damage, near_miss.'), models.CheckConstraint(condition=models.Q(('facility_type__in', ['electric', 'gas_oil_steam', 'communication', 'potable_water', 'reclaimed_water', 'sewer_drain', 'unknown'])), name='damage_report_facility_type_known', violation_error_message='facility_type: accepted are electric, gas_oil_steam, communication, potable_water, reclaimed_water, sewer_drain, unknown.'), models.CheckConstraint(condition=models.Q(('what_happened__regex', '\\S')), name='damage_report_what_happened_written', violation_error_message='what_happened: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('reported_by_name__regex', '\\S')), name='damage_report_reported_by_name_written', violation_error_message='reported_by_name: accepted is text that is not blank.')],
            },
        ),
        migrations.RunPython(grant, take_back),
    ]
