"""What the drilled hole of a bore alone meets is stored beside the figures of its plan."""

import django.db.models.deletion
import uuid
from django.db import migrations, models

from locates import roles


def grant(apps, schema_editor):
    """Let every role see what drilled holes alone meet."""
    roles.grant(apps, schema_editor, "conflicts", {})


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0023_passes_through'),
        ('locates', '0023_rule_of_its_company'),
    ]

    operations = [
        migrations.CreateModel(
            name='DrilledAloneCrossing',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('sequence', models.PositiveIntegerField(help_text='Place among those of the bore, from 0.')),
                ('mark_ref', models.CharField(max_length=200, verbose_name='mark')),
                ('operator', models.CharField(max_length=200)),
                ('facility_type', models.CharField(choices=[('electric', 'electric'), ('gas_oil_steam', 'gas/oil/steam'), ('communication', 'communication'), ('potable_water', 'potable water'), ('reclaimed_water', 'reclaimed water'), ('sewer_drain', 'sewer/drain'), ('unknown', 'unknown')], max_length=20)),
                ('kind', models.CharField(choices=[('crossing', 'crossing'), ('alongside', 'alongside')], max_length=10)),
                ('leg', models.CharField(blank=True, help_text='Empty where rods in the ground meet it.', max_length=40, verbose_name='abandoned leg')),
                ('is_gone', models.BooleanField(help_text='Whether the records do not know it there any more.')),
                ('from_m', models.FloatField(verbose_name='from station (m)')),
                ('to_m', models.FloatField(verbose_name='to station (m)')),
                ('station_m', models.FloatField(verbose_name='station (m)')),
                ('worst_case_m', models.FloatField(blank=True, null=True, verbose_name='worst case (m)')),
                ('required_m', models.FloatField(verbose_name='required (m)')),
                ('verdict', models.CharField(choices=[('overlap', 'overlap'), ('unexposed', 'unexposed'), ('stale', 'stale'), ('short', 'short'), ('clear', 'clear')], max_length=10)),
                ('drilled_at', models.DateTimeField(help_text='When the rod was logged that came past it.')),
                ('drilled_by_name', models.CharField(max_length=200, verbose_name='drilled by')),
            ],
            options={
                'ordering': ('bore_id', 'sequence'),
            },
        ),
        migrations.AddField(
            model_name='assessment',
            name='drilled_digest',
            field=models.CharField(blank=True, help_text='Empty until that is computed, and where no rod was logged.', max_length=64, verbose_name='digest of what the drilled hole rests on'),
        ),
        migrations.AddConstraint(
            model_name='assessment',
            constraint=models.CheckConstraint(condition=models.Q(('drilled_digest', ''), ('drilled_digest__regex', '^[0-9a-f]{64}$'), _connector='OR'), name='assessment_drilled_digest_sound', violation_error_message='drilled_digest: accepted are 64 hexadecimal digits, or none.'),
        ),
        migrations.AddField(
            model_name='drilledalonecrossing',
            name='assessment',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='drilled_alone', to='conflicts.assessment'),
        ),
        migrations.AddField(
            model_name='drilledalonecrossing',
            name='bore',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='drilled_alone', to='conflicts.bore'),
        ),
        migrations.AddField(
            model_name='drilledalonecrossing',
            name='mark',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='drilled_alone', to='locates.mark'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.UniqueConstraint(fields=('assessment', 'sequence'), name='drilled_alone_sequence_once', violation_error_message='sequence: accepted is a place that no other crossing has.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('mark_ref__regex', '\\S')), name='drilled_alone_mark_ref_written', violation_error_message='mark_ref: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('operator__regex', '\\S')), name='drilled_alone_operator_written', violation_error_message='operator: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('drilled_by_name__regex', '\\S')), name='drilled_alone_drilled_by_name_written', violation_error_message='drilled_by_name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('facility_type__in', ['electric', 'gas_oil_steam', 'communication', 'potable_water', 'reclaimed_water', 'sewer_drain', 'unknown'])), name='drilled_alone_facility_type_known', violation_error_message='facility_type: accepted are electric, gas_oil_steam, communication, potable_water, reclaimed_water, sewer_drain, unknown.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['crossing', 'alongside'])), name='drilled_alone_kind_known', violation_error_message='kind: accepted are crossing, alongside.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('verdict__in', ['overlap', 'unexposed', 'stale', 'short', 'clear'])), name='drilled_alone_verdict_known', violation_error_message='verdict: accepted are overlap, unexposed, stale, short, clear.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('from_m__gte', 0.0), ('from_m__lt', float("inf"))), name='drilled_alone_from_m_not_negative', violation_error_message='from_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('to_m__gte', 0.0), ('to_m__lt', float("inf"))), name='drilled_alone_to_m_not_negative', violation_error_message='to_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('station_m__gte', 0.0), ('station_m__lt', float("inf"))), name='drilled_alone_station_m_not_negative', violation_error_message='station_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('required_m__gte', 0.0), ('required_m__lt', float("inf"))), name='drilled_alone_required_m_not_negative', violation_error_message='required_m: accepted is a number, 0 or more.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('worst_case_m__gt', float("-inf")), ('worst_case_m__lt', float("inf"))), name='drilled_alone_worst_case_m_finite', violation_error_message='worst_case_m: accepted is a finite number.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(('from_m__lte', models.F('to_m'))), name='drilled_alone_from_m_not_after_to_m', violation_error_message='from_m: accepted is a value not after to_m.'),
        ),
        migrations.AddConstraint(
            model_name='drilledalonecrossing',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('verdict', 'clear'), _negated=True), ('worst_case_m__isnull', False), _connector='OR'), name='drilled_alone_clear_is_known', violation_error_message='verdict: clear is accepted of a line with a known worst case.'),
        ),
        migrations.RunPython(grant, migrations.RunPython.noop),
    ]
