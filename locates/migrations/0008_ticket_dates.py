"""Dates of a ticket with their working, who called it in, and what the notice stated."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0007_jurisdiction_clocks"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='ticket',
            name='called_by',
            field=models.CharField(blank=True, help_text='Who gave the notice.', max_length=200),
        ),
        migrations.AddField(
            model_name='ticket',
            name='computed_dates',
            field=models.JSONField(blank=True, default=dict, help_text='Each date as worked out when the ticket was logged, with its working; never rewritten.'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='dates_rule',
            field=models.ForeignKey(blank=True, help_text='Version of the rule that the dates were worked out under.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='locates.jurisdictionrule'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='latest_start_at',
            field=models.DateTimeField(blank=True, null=True, verbose_name='latest start'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='renew_by',
            field=models.DateTimeField(blank=True, null=True, verbose_name='renew by'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='response_due_at',
            field=models.DateTimeField(blank=True, null=True, verbose_name='answers due'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='reviewed_rule',
            field=models.ForeignKey(blank=True, help_text='Latest version of the rule that a person has held the dates against.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='locates.jurisdictionrule'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='stated_depth_m',
            field=models.FloatField(blank=True, help_text='Greatest depth that the notice names.', null=True, verbose_name='depth stated (m)'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='stated_method',
            field=models.CharField(blank=True, help_text='How the notice says that the work is done.', max_length=200, verbose_name='method stated'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='wanted_start_at',
            field=models.DateTimeField(blank=True, help_text='Start that the notice asked for.', null=True, verbose_name='start wanted'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='work_finished_at',
            field=models.DateTimeField(blank=True, help_text='Said by a person: no renewal is wanted.', null=True, verbose_name='work finished'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='work_finished_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('called_at__lte', models.F('wanted_start_at'))), name='ticket_called_at_not_after_wanted_start_at', violation_error_message='called_at: accepted is a value not after wanted_start_at.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('called_at__lte', models.F('response_due_at'))), name='ticket_called_at_not_after_response_due_at', violation_error_message='called_at: accepted is a value not after response_due_at.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('called_at__lte', models.F('latest_start_at'))), name='ticket_called_at_not_after_latest_start_at', violation_error_message='called_at: accepted is a value not after latest_start_at.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('legal_start_at__lte', models.F('latest_start_at'))), name='ticket_legal_start_at_not_after_latest_start_at', violation_error_message='legal_start_at: accepted is a value not after latest_start_at.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('latest_start_at__lte', models.F('expires_at'))), name='ticket_latest_start_at_not_after_expires_at', violation_error_message='latest_start_at: accepted is a value not after expires_at.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('called_at__lte', models.F('renew_by'))), name='ticket_called_at_not_after_renew_by', violation_error_message='called_at: accepted is a value not after renew_by.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('renew_by__lte', models.F('expires_at'))), name='ticket_renew_by_not_after_expires_at', violation_error_message='renew_by: accepted is a value not after expires_at.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('called_at__lte', models.F('work_finished_at'))), name='ticket_called_at_not_after_work_finished_at', violation_error_message='called_at: accepted is a value not after work_finished_at.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('stated_depth_m__gt', 0.0), ('stated_depth_m__lt', float("inf"))), name='ticket_stated_depth_m_positive', violation_error_message='stated_depth_m: accepted is a number above 0.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('computed_dates', {}), ('dates_rule__isnull', False), _connector='OR'), name='ticket_computed_dates_have_a_rule', violation_error_message='computed_dates: accepted are dates with the rule that they rest on.'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('work_finished_at__isnull', False), ('work_finished_by', None), _connector='OR'), name='ticket_work_finished_by_has_a_moment', violation_error_message='work_finished_by: accepted is a person once the work is finished.'),
        ),
    ]
