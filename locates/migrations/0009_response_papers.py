"""Papers that came with an operator's answer, and who at the operator gave it."""

import django.db.models.deletion
import django.db.models.lookups
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_WRITE = {roles.COORDINATOR: ("responsepaper",)}


def grant(apps, schema_editor):
    """Let those who log answers keep the papers that came with them."""
    roles.grant(apps, schema_editor, "locates", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_responsepaper"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0008_ticket_dates"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='response',
            name='answered_by',
            field=models.CharField(blank=True, help_text='Who at the operator said so, or where it was read.', max_length=200),
        ),
        migrations.CreateModel(
            name='ResponsePaper',
            fields=[
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('edited_at', models.DateTimeField(auto_now=True, null=True, verbose_name='last edited at')),
                ('retired_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('file_name', models.CharField(max_length=200)),
                ('media_type', models.CharField(choices=[('application/pdf', 'PDF'), ('image/png', 'PNG picture'), ('image/jpeg', 'JPEG picture'), ('text/plain', 'plain text'), ('message/rfc822', 'e-mail')], max_length=40)),
                ('size_bytes', models.PositiveIntegerField()),
                ('sha256', models.CharField(max_length=64, verbose_name='SHA-256')),
                ('content', models.BinaryField(help_text='The file as it came.')),
                ('added_at', models.DateTimeField(auto_now_add=True)),
                ('edited_by', models.ForeignKey(blank=True, db_index=False, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='last edited by')),
                ('response', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='papers', to='locates.response')),
                ('retired_by', models.ForeignKey(blank=True, db_index=False, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('retirement', models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='locates.retirement')),
            ],
            options={
                'ordering': ('response_id', 'added_at'),
                'constraints': [models.UniqueConstraint(condition=models.Q(('retired_at__isnull', True)), fields=('response', 'sha256'), name='response_paper_once', violation_error_message='sha256: accepted is a paper that this answer does not have yet.'), models.CheckConstraint(condition=models.Q(('file_name__regex', '\\S')), name='response_paper_file_name_written', violation_error_message='file_name: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('media_type__in', ['application/pdf', 'image/png', 'image/jpeg', 'text/plain', 'message/rfc822'])), name='response_paper_media_type_known', violation_error_message='media_type: accepted are application/pdf, image/png, image/jpeg, text/plain, message/rfc822.'), models.CheckConstraint(condition=models.Q(('size_bytes__gt', 0), ('size_bytes__lte', 10485760), django.db.models.lookups.Exact(models.Func(models.F('content'), function='octet_length', output_field=models.IntegerField()), models.F('size_bytes'))), name='response_paper_size_bytes_counted', violation_error_message='size_bytes: accepted is the number of bytes, above 0 and within the limit.'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.Exact(models.Func(models.Func(models.F('content'), function='sha256', output_field=models.BinaryField()), models.Value('hex', output_field=models.CharField()), function='encode', output_field=models.CharField()), models.F('sha256'))), name='response_paper_sha256_of_content', violation_error_message='sha256: accepted is the digest of the content.')],
            },
        ),
        migrations.RunPython(grant, take_back),
    ]
