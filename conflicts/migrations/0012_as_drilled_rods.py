"""Rods that were drilled, their withdrawals, and checks of the locating device at test holes."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {roles.FOREMAN: ("drilledrod", "rodwithdrawal", "locatorcheck")}

OF_BORE = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"
OF_ROD = (
    "(SELECT b.job_id FROM public.conflicts_drilledrod r JOIN public.conflicts_bore b ON b.id = r.bore_id"
    " WHERE r.id = {row}.rod_id)"
)
KEPT = {
    "conflicts_drilledrod": OF_BORE,
    "conflicts_rodwithdrawal": OF_ROD,
    "conflicts_locatorcheck": OF_BORE,
}
"""Tables whose every change is kept and of which nothing is changed, and how the job of a row is found."""


def grant(apps, schema_editor):
    """Let the foreman log rods and checks of the device, and every role read them."""
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
        ('conflicts', '0011_bound_variances'),
        ('locates', '0021_guards_always_stand'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='DrilledRod',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('number', models.PositiveIntegerField(verbose_name='rod, counted from the entry')),
                ('length_m', models.FloatField(verbose_name='length drilled since the rod before (m)')),
                ('pitch_ratio', models.FloatField(verbose_name='pitch, down is negative')),
                ('depth_m', models.FloatField(blank=True, null=True, verbose_name='depth read, ground to the antenna (m)')),
                ('roll_rad', models.FloatField(blank=True, null=True, verbose_name="roll, clockwise from 12 o'clock")),
                ('heading_rad', models.FloatField(blank=True, null=True, verbose_name='heading, clockwise from north')),
                ('dot_longitude_deg', models.FloatField(blank=True, null=True, verbose_name='dot, longitude')),
                ('dot_latitude_deg', models.FloatField(blank=True, null=True, verbose_name='dot, latitude')),
                ('dot_station_m', models.FloatField(blank=True, help_text='As it was measured along the alignment of then.', null=True, verbose_name='dot, station (m)')),
                ('dot_offset_m', models.FloatField(blank=True, null=True, verbose_name='dot, right of the alignment (m)')),
                ('dot_error_m', models.FloatField(blank=True, help_text='As its source states it; none is unknown.', null=True, verbose_name='dot, how far off (m)')),
                ('confirmed', models.JSONField(blank=True, default=list, help_text='What was asked about this reading, and kept.', verbose_name='confirmed oddities')),
                ('remarks', models.TextField(blank=True)),
                ('logged_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='logged by, name')),
                ('logged_at', models.DateTimeField()),
                ('after', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='followed_by', to='conflicts.drilledrod')),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='drilled_rods', to='conflicts.bore')),
                ('logged_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='logged by')),
            ],
            options={
                'ordering': ('bore_id', 'logged_at', 'entered_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='LocatorCheck',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('device', models.CharField(max_length=200, verbose_name='locating device')),
                ('read_depth_m', models.FloatField(verbose_name='depth that the device read (m)')),
                ('measured_depth_m', models.FloatField(verbose_name='depth that was measured (m)')),
                ('remarks', models.TextField(blank=True)),
                ('checked_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='checked by, name')),
                ('checked_at', models.DateTimeField()),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='locator_checks', to='conflicts.bore')),
                ('checked_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='checked by')),
                ('hole', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='locator_checks', to='locates.testhole', verbose_name='test hole')),
            ],
            options={
                'ordering': ('bore_id', 'checked_at', 'entered_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='RodWithdrawal',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('kind', models.CharField(choices=[('undo', 'entered wrongly'), ('pull_back', 'pulled back')], max_length=10)),
                ('reason', models.TextField(blank=True)),
                ('withdrawn_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='withdrawn by, name')),
                ('withdrawn_at', models.DateTimeField()),
                ('rod', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='conflicts.drilledrod', verbose_name='first rod withdrawn')),
                ('withdrawn_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='withdrawn by')),
            ],
            options={
                'ordering': ('withdrawn_at', 'entered_at', 'id'),
            },
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('length_m__gt', 0.0), ('length_m__lt', float("inf"))), name='rod_length_m_positive', violation_error_message='length_m: accepted is a number above 0.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('depth_m__gte', 0.0), ('depth_m__lt', float("inf"))), name='rod_depth_m_not_negative', violation_error_message='depth_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('dot_error_m__gte', 0.0), ('dot_error_m__lt', float("inf"))), name='rod_dot_error_m_not_negative', violation_error_message='dot_error_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('pitch_ratio__gt', float("-inf")), ('pitch_ratio__lt', float("inf"))), name='rod_pitch_ratio_finite', violation_error_message='pitch_ratio: accepted is a finite number.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('dot_station_m__gt', float("-inf")), ('dot_station_m__lt', float("inf"))), name='rod_dot_station_m_finite', violation_error_message='dot_station_m: accepted is a finite number.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('dot_offset_m__gt', float("-inf")), ('dot_offset_m__lt', float("inf"))), name='rod_dot_offset_m_finite', violation_error_message='dot_offset_m: accepted is a finite number.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('logged_by_name__regex', '\\S')), name='rod_logged_by_name_written', violation_error_message='logged_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('after__isnull', True), ('number', 1)), models.Q(('after__isnull', False), ('number__gt', 1)), _connector='OR'), name='rod_first_follows_none', violation_error_message='after: accepted is none for rod 1, else the rod before.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('roll_rad__gte', 0.0), ('roll_rad__lt', 6.283185307179586)), name='rod_roll_rad_in_a_turn', violation_error_message='roll_rad: accepted is an angle from 0 to below a full turn.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(('heading_rad__gte', 0.0), ('heading_rad__lt', 6.283185307179586)), name='rod_heading_rad_in_a_turn', violation_error_message='heading_rad: accepted is an angle from 0 to below a full turn.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('dot_error_m__isnull', True), ('dot_latitude_deg__isnull', True), ('dot_longitude_deg__isnull', True), ('dot_offset_m__isnull', True), ('dot_station_m__isnull', True)), models.Q(('dot_latitude_deg__gte', -90.0), ('dot_latitude_deg__isnull', False), ('dot_latitude_deg__lte', 90.0), ('dot_longitude_deg__gte', -180.0), ('dot_longitude_deg__isnull', False), ('dot_longitude_deg__lte', 180.0)), _connector='OR'), name='rod_dot_has_a_place', violation_error_message='dot: accepted are a longitude and a latitude, or nothing of a dot.'),
        ),
        migrations.AddConstraint(
            model_name='drilledrod',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('dot_offset_m__isnull', True), ('dot_station_m__isnull', True)), models.Q(('dot_offset_m__isnull', False), ('dot_station_m__isnull', False)), _connector='OR'), name='rod_dot_station_with_offset', violation_error_message='dot_station_m: accepted is a station with an offset, or neither.'),
        ),
        migrations.AddConstraint(
            model_name='locatorcheck',
            constraint=models.CheckConstraint(condition=models.Q(('read_depth_m__gte', 0.0), ('read_depth_m__lt', float("inf"))), name='locator_check_read_depth_m_not_negative', violation_error_message='read_depth_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='locatorcheck',
            constraint=models.CheckConstraint(condition=models.Q(('measured_depth_m__gt', 0.0), ('measured_depth_m__lt', float("inf"))), name='locator_check_measured_depth_m_positive', violation_error_message='measured_depth_m: accepted is a number above 0.'),
        ),
        migrations.AddConstraint(
            model_name='locatorcheck',
            constraint=models.CheckConstraint(condition=models.Q(('device__regex', '\\S')), name='locator_check_device_written', violation_error_message='device: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='locatorcheck',
            constraint=models.CheckConstraint(condition=models.Q(('checked_by_name__regex', '\\S')), name='locator_check_checked_by_name_written', violation_error_message='checked_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='rodwithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['undo', 'pull_back'])), name='rod_withdrawal_kind_known', violation_error_message='kind: accepted are undo, pull_back.'),
        ),
        migrations.AddConstraint(
            model_name='rodwithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('withdrawn_by_name__regex', '\\S')), name='rod_withdrawal_withdrawn_by_name_written', violation_error_message='withdrawn_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='rodwithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('kind', 'undo'), ('reason__regex', '\\S'), _connector='OR'), name='rod_withdrawal_pull_back_has_reason', violation_error_message='reason: accepted is why the rods were pulled back.'),
        ),
        migrations.RunPython(grant, take_back),
        migrations.RunPython(keep, leave),
    ]
