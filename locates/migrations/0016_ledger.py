"""The chain of all that was signed; entries are made by signing, so no role may write any."""

import django.db.models.deletion
import django.db.models.lookups
from django.conf import settings
from django.db import migrations, models

from locates import roles


def grant(apps, schema_editor):
    """Let every role read the chain."""
    roles.grant(apps, schema_editor, "locates", {})


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_ledgerentry"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0015_centre_days"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='LedgerEntry',
            fields=[
                ('sequence', models.BigIntegerField(help_text='From 1 without gaps.', primary_key=True, serialize=False)),
                ('kind', models.CharField(max_length=40)),
                ('record_id', models.UUIDField()),
                ('content', models.TextField(help_text='Canonical JSON (RFC 8785) of the record.')),
                ('content_sha256', models.CharField(max_length=64, verbose_name='SHA-256 of the content')),
                ('previous_sha256', models.CharField(max_length=64, unique=True, verbose_name='SHA-256 of the entry before')),
                ('entry_sha256', models.CharField(max_length=64, unique=True, verbose_name='SHA-256 of the entry')),
                ('entered_at', models.DateTimeField()),
                ('entered_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ledger_entries', to='locates.job')),
            ],
            options={
                'verbose_name_plural': 'ledger entries',
                'ordering': ('sequence',),
                'constraints': [models.UniqueConstraint(fields=('kind', 'record_id'), name='ledger_entry_record_once', violation_error_message='record_id: accepted is a record that has no entry yet.'), models.CheckConstraint(condition=models.Q(('sequence__gte', 1)), name='ledger_entry_sequence_from_one', violation_error_message='sequence: accepted is a whole number from 1.'), models.CheckConstraint(condition=models.Q(('kind__regex', '\\S')), name='ledger_entry_kind_written', violation_error_message='kind: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.Exact(models.Func(models.Func(models.Func(models.F('content'), models.Value('UTF8'), function='convert_to', output_field=models.BinaryField()), function='sha256', output_field=models.BinaryField()), models.Value('hex', output_field=models.CharField()), function='encode', output_field=models.CharField()), models.F('content_sha256'))), name='ledger_entry_content_sha256_of_content', violation_error_message='content_sha256: accepted is the digest of the content.'), models.CheckConstraint(condition=models.Q(('previous_sha256__regex', '^[0-9a-f]{64}$')), name='ledger_entry_previous_sha256_is_a_digest', violation_error_message='previous_sha256: accepted are 64 hexadecimal digits.'), models.CheckConstraint(condition=models.Q(('entry_sha256__regex', '^[0-9a-f]{64}$')), name='ledger_entry_entry_sha256_is_a_digest', violation_error_message='entry_sha256: accepted are 64 hexadecimal digits.')],
            },
        ),
        migrations.RunPython(grant, take_back),
    ]
