"""A release after a report of damage says what was settled, and which reports it answers."""

from django.db import migrations, models

JOB = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_release'::regclass, %s)", [JOB])


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0018_bit_lead'),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='release',
            name='damage_answered',
            field=models.JSONField(blank=True, help_text='The ids of those of which no release before it says what was settled.', null=True, verbose_name='reports of damage that it answers'),
        ),
        migrations.AddField(
            model_name='release',
            name='damage_settled',
            field=models.TextField(blank=True, default='', help_text='Of each report: what was found, what was mended and by whom, and who lets the work go on.', verbose_name='what was settled since the damage'),
        ),
        migrations.AddConstraint(
            model_name='release',
            constraint=models.CheckConstraint(condition=models.Q(('damage_answered__isnull', True), ('damage_answered', []), ('damage_settled__regex', '\\S'), _connector='OR'), name='release_damage_settled_in_words', violation_error_message='damage_settled: accepted is text, for it answers damage.'),
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
    ]
