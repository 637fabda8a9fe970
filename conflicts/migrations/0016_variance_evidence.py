"""Papers of a variance, the evidence that a signature covers, and what was confirmed of a watch's figures."""

import django.db.models.deletion
import django.db.models.lookups
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {role: ("variancepaper",) for role in roles.ROLES}

OF_BORE = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"
OF_VARIANCE = (
    "(SELECT b.job_id FROM public.conflicts_variance v JOIN public.conflicts_bore b ON b.id = v.bore_id"
    " WHERE v.id = {row}.variance_id)"
)
WIDER = {"conflicts_crossingwatch": OF_BORE, "conflicts_variancesignature": OF_VARIANCE}
"""Tables that get a column, and how the job of a row is found."""


def grant(apps, schema_editor):
    """Let whoever may ask for a variance add papers to one, and every role read them."""
    roles.grant(apps, schema_editor, "conflicts", {}, MAY_ADD)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_variancepaper"):
        permission.group_set.clear()


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        for table, job in WIDER.items():
            cursor.execute("SELECT locates_keep_record_of(%s::regclass, %s)", [table, job])


def keep_papers(apps, schema_editor):
    """Have the database keep the record of papers from the first row on, and let nobody change one."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_variancepaper'::regclass, %s)", [OF_VARIANCE])
        cursor.execute("SELECT locates_seal('conflicts_variancepaper'::regclass)")


def leave_papers(apps, schema_editor):
    """Take the triggers away again."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_leave_record_of('conflicts_variancepaper'::regclass)")


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0015_gone_crossings'),
        ('locates', '0022_company_rules'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='crossingwatch',
            name='confirmed',
            field=models.JSONField(blank=True, help_text='What was asked about its figures, and kept; none where nothing was.', null=True, verbose_name='confirmed oddities'),
        ),
        migrations.AddField(
            model_name='variancesignature',
            name='covered',
            field=models.JSONField(blank=True, help_text='Each by kind, file name and SHA-256; none where it was signed before they were named.', null=True, verbose_name='evidence that it covers'),
        ),
        migrations.CreateModel(
            name='VariancePaper',
            fields=[
                ('file_name', models.CharField(max_length=200)),
                ('media_type', models.CharField(choices=[('application/pdf', 'PDF'), ('image/png', 'PNG picture'), ('image/jpeg', 'JPEG picture'), ('text/plain', 'plain text'), ('message/rfc822', 'e-mail')], max_length=40)),
                ('size_bytes', models.PositiveIntegerField()),
                ('sha256', models.CharField(max_length=64, verbose_name='SHA-256')),
                ('content', models.BinaryField(help_text='The file as it came.')),
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('entered_at', models.DateTimeField(auto_now_add=True)),
                ('added_by_name', models.CharField(help_text='Their name as it was then.', max_length=200, verbose_name='added by, name')),
                ('added_at', models.DateTimeField()),
                ('added_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='added by')),
                ('variance', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='conflicts.variance')),
            ],
            options={
                'ordering': ('variance_id', 'added_at', 'id'),
                'constraints': [models.UniqueConstraint(fields=('variance', 'sha256'), name='variance_paper_once', violation_error_message='sha256: accepted is a paper that this variance does not have yet.'), models.CheckConstraint(condition=models.Q(('added_by_name__regex', '\\S')), name='variance_paper_added_by_name_written', violation_error_message='added_by_name: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('file_name__regex', '\\S')), name='variance_paper_file_name_written', violation_error_message='file_name: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('media_type__in', ['application/pdf', 'image/png', 'image/jpeg', 'text/plain', 'message/rfc822'])), name='variance_paper_media_type_known', violation_error_message='media_type: accepted are application/pdf, image/png, image/jpeg, text/plain, message/rfc822.'), models.CheckConstraint(condition=models.Q(('size_bytes__gt', 0), ('size_bytes__lte', 10485760), django.db.models.lookups.Exact(models.Func(models.F('content'), function='octet_length', output_field=models.IntegerField()), models.F('size_bytes'))), name='variance_paper_size_bytes_counted', violation_error_message='size_bytes: accepted is the number of bytes, above 0 and within the limit.'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.Exact(models.Func(models.Func(models.F('content'), function='sha256', output_field=models.BinaryField()), models.Value('hex', output_field=models.CharField()), function='encode', output_field=models.CharField()), models.F('sha256'))), name='variance_paper_sha256_of_content', violation_error_message='sha256: accepted is the digest of the content.')],
            },
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
        migrations.RunPython(keep_papers, leave_papers),
        migrations.RunPython(grant, take_back),
    ]
