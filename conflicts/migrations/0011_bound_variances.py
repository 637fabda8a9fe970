"""A variance is bound to what stood when it was signed, and one for a watch to its pass."""

from django.conf import settings
from django.db import migrations, models

KEPT = {
    "conflicts_variance": "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)",
    "conflicts_variancesignature": (
        "(SELECT b.job_id FROM public.conflicts_variance v JOIN public.conflicts_bore b ON b.id = v.bore_id"
        " WHERE v.id = {row}.variance_id)"
    ),
}


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        for table, job in KEPT.items():
            cursor.execute("SELECT locates_keep_record_of(%s::regclass, %s)", [table, job])


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0010_records_never_emptied'),
        ('locates', '0021_guards_always_stand'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='variance',
            name='pass_made',
            field=models.CharField(blank=True, choices=[('pilot', 'pilot'), ('reaming', 'reaming'), ('pullback', 'pullback')], default='', max_length=10, verbose_name='pass'),
        ),
        migrations.AddField(
            model_name='variancesignature',
            name='faults',
            field=models.JSONField(blank=True, help_text='Each by key and words.', null=True, verbose_name='faults of the check'),
        ),
        migrations.AddField(
            model_name='variancesignature',
            name='required_m',
            field=models.FloatField(blank=True, null=True, verbose_name='required (m)'),
        ),
        migrations.AddField(
            model_name='variancesignature',
            name='verdict',
            field=models.CharField(blank=True, choices=[('overlap', 'overlap'), ('unexposed', 'unexposed'), ('stale', 'stale'), ('short', 'short'), ('clear', 'clear')], default='', max_length=10),
        ),
        migrations.AddField(
            model_name='variancesignature',
            name='worst_case_m',
            field=models.FloatField(blank=True, null=True, verbose_name='worst case (m)'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('pass_made__in', ['', 'pilot', 'reaming', 'pullback'])), name='variance_pass_made_known', violation_error_message='pass_made: accepted are nothing, pilot, reaming, pullback.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('pass_made', ''), ('subject', 'watch'), _connector='OR'), name='variance_pass_is_of_a_watch', violation_error_message='pass_made: accepted is a pass of a watch, and nothing else.'),
        ),
        migrations.AddConstraint(
            model_name='variancesignature',
            constraint=models.CheckConstraint(condition=models.Q(('verdict__in', ['', 'overlap', 'unexposed', 'stale', 'short', 'clear'])), name='variance_signature_verdict_known', violation_error_message='verdict: accepted are nothing, overlap, unexposed, stale, short, clear.'),
        ),
        migrations.AddConstraint(
            model_name='variancesignature',
            constraint=models.CheckConstraint(condition=models.Q(('worst_case_m__gt', float("-inf")), ('worst_case_m__lt', float("inf"))), name='variance_signature_worst_case_m_finite', violation_error_message='worst_case_m: accepted is a finite number.'),
        ),
        migrations.AddConstraint(
            model_name='variancesignature',
            constraint=models.CheckConstraint(condition=models.Q(('required_m__gte', 0.0), ('required_m__lt', float("inf"))), name='variance_signature_required_m_not_negative', violation_error_message='required_m: accepted is a number, 0 or more.'),
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
    ]
