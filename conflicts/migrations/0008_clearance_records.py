"""Clearance records of bores, and the work that makes them."""

import uuid

import django.db.models.deletion
import django.db.models.lookups
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {role: ("recordmaking",) for role in roles.ROLES}

# What was handed over stays as it was handed over, whoever asks the database otherwise.
STAYS = """
CREATE FUNCTION conflicts_clearance_record_stays() RETURNS trigger LANGUAGE plpgsql AS $function$
BEGIN
    RAISE EXCEPTION 'clearance record %: a record that was made is never changed or taken away', OLD.request_id
        USING ERRCODE = 'restrict_violation';
END
$function$;
CREATE TRIGGER record_stays BEFORE UPDATE OR DELETE ON conflicts_recordmaking
    FOR EACH ROW WHEN (OLD.state = 'done') EXECUTE FUNCTION conflicts_clearance_record_stays();
"""
GOES = """
DROP TRIGGER record_stays ON conflicts_recordmaking;
DROP FUNCTION conflicts_clearance_record_stays();
"""


def grant(apps, schema_editor):
    """Let every role have records made and read them: they say what each may see anyway."""
    roles.grant(apps, schema_editor, "conflicts", {}, MAY_ADD)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_recordmaking"):
        permission.group_set.clear()


class Migration(migrations.Migration):
    dependencies = (
        ("conflicts", "0007_watches"),
        ("locates", "0019_checks_never_waived"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )

    operations = (
        migrations.CreateModel(
            name='RecordMaking',
            fields=[
                ('id', models.AutoField(primary_key=True, serialize=False)),
                ('state', models.CharField(choices=[('queued', 'queued'), ('running', 'running'), ('done', 'done'), ('given up', 'given up')], max_length=10)),
                ('attempts', models.PositiveSmallIntegerField(verbose_name='attempts since it was asked for')),
                ('rung_at', models.DateTimeField(verbose_name='last called out at')),
                ('started_at', models.DateTimeField(null=True)),
                ('finished_at', models.DateTimeField(null=True)),
                ('failure', models.TextField(blank=True)),
                ('request_id', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('made_by_name', models.CharField(help_text='Their name as it was then.', max_length=200)),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
                ('phase', models.CharField(blank=True, choices=[('read', 'reading the records'), ('draw', 'drawing and writing'), ('lay out', 'laying out the pages'), ('keep', 'keeping the record')], max_length=10)),
                ('as_of', models.DateTimeField(null=True, verbose_name='records read at')),
                ('said_digest', models.CharField(blank=True, max_length=64, verbose_name='SHA-256 of all that it says but the moment')),
                ('inputs_digest', models.CharField(blank=True, max_length=64, verbose_name='SHA-256 of its inputs, the moment included')),
                ('sha256', models.CharField(blank=True, max_length=64, verbose_name='SHA-256 of the file')),
                ('size_bytes', models.PositiveIntegerField(null=True)),
                ('page_count', models.PositiveIntegerField(null=True)),
                ('content', models.BinaryField(null=True, verbose_name='the file')),
                ('bore', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='record_makings', to='conflicts.bore')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('same_as', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='conflicts.recordmaking')),
            ],
            options={
                'ordering': ('id',),
                'indexes': [models.Index(fields=['bore', '-id'], name='record_making_latest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['queued', 'running', 'done', 'given up'])), name='record_making_state_known'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'given up'), _negated=True), models.Q(('failure', ''), _negated=True), _connector='OR'), name='record_making_failure_told'), models.CheckConstraint(condition=models.Q(models.Q(('finished_at__isnull', False), ('state', 'done')), models.Q(models.Q(('state', 'done'), _negated=True), ('finished_at', None)), _connector='OR'), name='record_making_done_at_a_moment'), models.CheckConstraint(condition=models.Q(('made_by_name__regex', '\\S')), name='record_making_made_by_name_written', violation_error_message='made_by_name: accepted is text that is not blank.'), models.UniqueConstraint(condition=models.Q(('state__in', ('queued', 'running'))), fields=('bore',), name='record_making_one_at_a_time'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'done'), _negated=True), models.Q(('content', None), ('same_as__isnull', False)), models.Q(('as_of__isnull', False), ('content__isnull', False), ('inputs_digest__regex', '^[0-9a-f]{64}$'), ('page_count__gte', 1), ('said_digest__regex', '^[0-9a-f]{64}$'), ('same_as', None)), _connector='OR'), name='record_making_done_is_whole'), models.CheckConstraint(condition=models.Q(('content', None), django.db.models.lookups.Exact(models.Func(models.Func(models.F('content'), function='sha256', output_field=models.BinaryField()), models.Value('hex', output_field=models.CharField()), function='encode', output_field=models.CharField()), models.F('sha256')), _connector='OR'), name='record_making_sha256_of_content'), models.CheckConstraint(condition=models.Q(('content', None), django.db.models.lookups.Exact(models.Func(models.F('content'), function='octet_length', output_field=models.IntegerField()), models.F('size_bytes')), _connector='OR'), name='record_making_size_of_content')],
            },
        ),
        migrations.RunSQL(STAYS, GOES),
        migrations.RunPython(grant, take_back),
    )
