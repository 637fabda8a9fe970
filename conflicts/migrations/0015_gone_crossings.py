"""A variance may be for a crossing that is gone as a whole, and for a bore that was never released."""


from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0014_releases_by_mark'),
        ('locates', '0022_company_rules'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='variance',
            name='variance_subject_known',
        ),
        migrations.RemoveConstraint(
            model_name='variance',
            name='variance_check_code_known',
        ),
        migrations.AlterField(
            model_name='variance',
            name='check_code',
            field=models.CharField(blank=True, choices=[('tickets', 'tickets'), ('responses', 'operators’ responses'), ('crossings', 'crossings'), ('surface', 'surface evidence'), ('profile', 'profile'), ('day', 'the day’s walk'), ('watch_holes', 'watch holes'), ('duties', 'duties of the place'), ('release', 'a release before drilling')], max_length=20, verbose_name='check'),
        ),
        migrations.AlterField(
            model_name='variance',
            name='subject',
            field=models.CharField(choices=[('check', 'a check'), ('crossing', 'the clearance of a crossing'), ('watch', 'the watch of a crossing'), ('gone', 'a crossing that is not there any more')], max_length=10),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('subject__in', ['check', 'crossing', 'watch', 'gone'])), name='variance_subject_known', violation_error_message='subject: accepted are check, crossing, watch, gone.'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('check_code__in', ['', 'tickets', 'responses', 'crossings', 'surface', 'profile', 'day', 'watch_holes', 'duties', 'release'])), name='variance_check_code_known', violation_error_message='check_code: accepted are nothing, tickets, responses, crossings, surface, profile, day, watch_holes, duties, release.'),
        ),
    ]
