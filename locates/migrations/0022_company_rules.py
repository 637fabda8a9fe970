"""A rule is shipped or one company's own, and so is a day of a centre; what is there already stays everybody's.

Both tables have new columns, so the database keeps their record anew.
"""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

KEEP_ANEW = """
SELECT locates_keep_record_of('locates_jurisdictionrule', 'NULL::uuid');
SELECT locates_keep_record_of('locates_centreday', 'NULL::uuid');
"""


class Migration(migrations.Migration):

    dependencies = [
        ('locates', '0021_guards_always_stand'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='centreday',
            name='centre_day_once',
        ),
        migrations.RemoveConstraint(
            model_name='jurisdictionrule',
            name='jurisdiction_rule_version_once',
        ),
        migrations.AddField(
            model_name='centreday',
            name='organisation',
            field=models.ForeignKey(editable=False, help_text='The company that keeps it; none where all companies count by it.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='centre_days', to='locates.organisation'),
        ),
        migrations.AddField(
            model_name='jurisdictionrule',
            name='organisation',
            field=models.ForeignKey(blank=True, help_text='The company whose own version it is; of a shipped rule none.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='rules', to='locates.organisation'),
        ),
        migrations.AddField(
            model_name='jurisdictionrule',
            name='retired_at',
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name='jurisdictionrule',
            name='retired_by',
            field=models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='centreday',
            constraint=models.UniqueConstraint(condition=models.Q(('retired_at__isnull', True)), fields=('organisation', 'code', 'day'), name='centre_day_once', nulls_distinct=False, violation_error_message='day: accepted is a day of which nothing is said yet.'),
        ),
        migrations.AddConstraint(
            model_name='jurisdictionrule',
            constraint=models.UniqueConstraint(fields=('organisation', 'code', 'version'), name='jurisdiction_rule_version_once', nulls_distinct=False, violation_error_message='version: accepted is a version that this code does not have yet.'),
        ),
        migrations.AddConstraint(
            model_name='jurisdictionrule',
            constraint=models.CheckConstraint(condition=models.Q(('organisation', None), ('citation__regex', '\\S'), _connector='OR'), name='jurisdiction_rule_own_is_cited', violation_error_message="citation: accepted is where the company's own version was read."),
        ),
        migrations.AddConstraint(
            model_name='jurisdictionrule',
            constraint=models.CheckConstraint(condition=models.Q(('organisation__isnull', False), ('retired_at__isnull', True), _connector='OR'), name='jurisdiction_rule_shipped_is_not_retired', violation_error_message='retired_at: accepted is nothing for a rule that is shipped.'),
        ),
        migrations.RunSQL([(KEEP_ANEW, None)], migrations.RunSQL.noop),
    ]
