"""A variance may be for the hole as it was drilled past a line."""


from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0019_damage_settled'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='variance',
            name='variance_subject_known',
        ),
        migrations.AlterField(
            model_name='variance',
            name='subject',
            field=models.CharField(choices=[('check', 'a check'), ('crossing', 'the clearance of a crossing'), ('watch', 'the watch of a crossing'), ('gone', 'a crossing that is not there any more'), ('drilled', 'the hole as it was drilled past a line')], max_length=10),
        ),
        migrations.AddConstraint(
            model_name='variance',
            constraint=models.CheckConstraint(condition=models.Q(('subject__in', ['check', 'crossing', 'watch', 'gone', 'drilled'])), name='variance_subject_known', violation_error_message='subject: accepted are check, crossing, watch, gone, drilled.'),
        ),
    ]
