"""How far a rig's bit is ahead of the antenna, where somebody recorded it."""

from django.db import migrations, models


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_bore'::regclass, '{row}.job_id')")


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0017_hole_passes'),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='bore',
            name='bit_lead_m',
            field=models.FloatField(blank=True, null=True, verbose_name='rig: from the antenna ahead to the bit (m)'),
        ),
        migrations.AddConstraint(
            model_name='bore',
            constraint=models.CheckConstraint(condition=models.Q(('bit_lead_m__range', (0.0, 15.0))), name='bore_bit_lead_m', violation_error_message='bit_lead_m: accepted is 0 to 15 m.'),
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
    ]
