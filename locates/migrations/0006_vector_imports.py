"""Files of surveyed things on their way into a job, and who may bring them."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_WRITE = {roles.COORDINATOR: ("vectorimport",), roles.FOREMAN: ("vectorimport",)}


def grant(apps, schema_editor):
    """Let those who log surveyed things bring files of them."""
    roles.grant(apps, schema_editor, "locates", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_vectorimport"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ('locates', '0005_retiring'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='VectorImport',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('mark', 'marks'), ('test_hole', 'test holes'), ('ground_point', 'ground points'), ('linework', 'linework')], max_length=20)),
                ('file_name', models.CharField(max_length=200)),
                ('content', models.BinaryField(help_text='Tables as locates.exchange.vector_table packs them.')),
                ('mapping', models.JSONField(blank=True, default=dict)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('expires_at', models.DateTimeField(db_index=True)),
                ('stored_at', models.DateTimeField(blank=True, null=True)),
                ('stored_count', models.PositiveIntegerField(blank=True, null=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='vector_imports', to='locates.job')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-created_at',),
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['mark', 'test_hole', 'ground_point', 'linework'])), name='vector_import_kind_known', violation_error_message='kind: accepted are mark, test_hole, ground_point, linework.'), models.CheckConstraint(condition=models.Q(models.Q(('stored_at', None), ('stored_count', None)), models.Q(('stored_at__isnull', False), ('stored_count__isnull', False)), _connector='OR'), name='vector_import_stored_is_counted', violation_error_message='stored_count: accepted is a number once the import is stored.')],
            },
        ),
        migrations.RunPython(grant, take_back),
    ]
