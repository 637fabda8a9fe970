"""A variance may be for the camera after the pullback, of a line that is not known to be a sewer."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0020_drilled_variances'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='variance',
            name='variance_check_code_known',
        ),
        migrations.AlterField(
            model_name='variance',
            name='check_code',
            field=models.CharField(blank=True, choices=[('tickets', 'tickets'), ('responses', 'operators’ responses'), ('crossings', 'crossings'), ('surface', 'surface evidence'), ('profile', 'profile'), ('day', 'the day’s walk'), ('watch_holes', 'watch holes'), ('duties', 'duties of the place'), ('release', 'a release before drilling'), ('camera', 'the camera after the pullback')], max_length=20, verbose_name='check'),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('check_code__in', ['', 'tickets', 'responses', 'crossings', 'surface', 'profile', 'day', 'watch_holes', 'duties', 'release', 'camera'])), name='variance_check_code_known', violation_error_message='check_code: accepted are nothing, tickets, responses, crossings, surface, profile, day, watch_holes, duties, release, camera.'),
        ),
    ]
