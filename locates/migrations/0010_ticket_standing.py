"""How every ticket stands and what it asks for, reckoned for lists; and the views of the board that people keep."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

RECORDS = ("ticketstanding", "ticketmatter", "savedview")

# Reckoned by the first sweep: its time has come, whatever the clock says.
HAVE_ALL_RECKONED = """
INSERT INTO locates_ticketstanding (ticket_id, organisation_id, job_id, called_at, state, named_count, awaited_count,
    overdue_count, changes_at, reckoned_at)
SELECT ticket.id, job.organisation_id, job.id, ticket.called_at, 'undated', 0, 0, 0, ticket.called_at, ticket.called_at
FROM locates_ticket AS ticket
JOIN locates_job AS job ON job.id = ticket.job_id
"""


def grant(apps, schema_editor):
    """Let every role see the lists; a person's own views need no permission."""
    roles.grant(apps, schema_editor, "locates", {})


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    codenames = [f"{action}_{record}" for record in RECORDS for action in ("view", "add", "change")]
    for permission in permissions.filter(content_type__app_label="locates", codename__in=codenames):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0009_response_papers"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='SavedView',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=60)),
                ('board_list', models.CharField(choices=[('matters', 'what to do'), ('tickets', 'all tickets')], max_length=10, verbose_name='list')),
                ('query', models.CharField(blank=True, help_text='The choices as an address has them.', max_length=1000)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'ordering': ('name',),
            },
        ),
        migrations.CreateModel(
            name='TicketMatter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('matter', models.CharField(choices=[('answer_overdue', 'answer overdue'), ('enter_dates', 'dates to enter'), ('name_operators', 'operators to name'), ('starts_soon', 'starts soon'), ('call_renewal', 'renewal to call'), ('expires_soon', 'expires soon'), ('expired', 'expired'), ('re_mark_asked', 're-mark asked')], max_length=20)),
                ('due_at', models.DateTimeField()),
            ],
            options={
                'ordering': ('due_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='TicketStanding',
            fields=[
                ('ticket', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='standing', serialize=False, to='locates.ticket')),
                ('called_at', models.DateTimeField(help_text="The ticket's own, so that a list in its order reads no more.")),
                ('state', models.CharField(choices=[('not_started', 'not started'), ('in_force', 'in force'), ('expired', 'expired'), ('undated', 'a date is missing'), ('replaced', 'renewed or re-marked'), ('finished', 'work finished')], max_length=20)),
                ('named_count', models.PositiveIntegerField(default=0, help_text='Operators that are logged on it.')),
                ('awaited_count', models.PositiveIntegerField(default=0, help_text='Operators without a final answer.')),
                ('overdue_count', models.PositiveIntegerField(default=0, help_text='Those of them past the deadline, while it is not over.')),
                ('changes_at', models.DateTimeField(null=True)),
                ('reckoned_at', models.DateTimeField(help_text='When it last came out otherwise than before.')),
            ],
        ),
        migrations.AddField(
            model_name='organisation',
            name='desk_lead_hours',
            field=models.PositiveIntegerField(default=48, help_text='How long before a start, a renewal date or an expiry the board shows the ticket.', verbose_name='lead time of the ticket desk (hours)'),
        ),
        migrations.AddIndex(
            model_name='ticket',
            index=models.Index(condition=models.Q(('previous_number', ''), _negated=True), fields=['job', 'previous_number'], name='ticket_previous'),
        ),
        migrations.AddConstraint(
            model_name='organisation',
            constraint=models.CheckConstraint(condition=models.Q(('desk_lead_hours__lte', 2160)), name='organisation_desk_lead_hours_bounded', violation_error_message='desk_lead_hours: accepted is a whole number, 0 to 2160.'),
        ),
        migrations.AddField(
            model_name='savedview',
            name='user',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='saved_views', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='ticketmatter',
            name='job',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='locates.job'),
        ),
        migrations.AddField(
            model_name='ticketmatter',
            name='organisation',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='locates.organisation'),
        ),
        migrations.AddField(
            model_name='ticketmatter',
            name='ticket',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='matters', to='locates.ticket'),
        ),
        migrations.AddField(
            model_name='ticketstanding',
            name='job',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='locates.job'),
        ),
        migrations.AddField(
            model_name='ticketstanding',
            name='organisation',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='locates.organisation'),
        ),
        migrations.AddConstraint(
            model_name='savedview',
            constraint=models.UniqueConstraint(fields=('user', 'name'), name='saved_view_name_once', violation_error_message='name: accepted is a name that none of your views has.'),
        ),
        migrations.AddConstraint(
            model_name='savedview',
            constraint=models.CheckConstraint(condition=models.Q(('name__regex', '\\S')), name='saved_view_name_written', violation_error_message='name: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='savedview',
            constraint=models.CheckConstraint(condition=models.Q(('board_list__in', ['matters', 'tickets'])), name='saved_view_board_list_known', violation_error_message='board_list: accepted are matters, tickets.'),
        ),
        migrations.AddIndex(
            model_name='ticketmatter',
            index=models.Index(fields=['due_at', 'id'], name='matter_due'),
        ),
        migrations.AddIndex(
            model_name='ticketmatter',
            index=models.Index(fields=['matter', 'due_at', 'id'], name='matter_kind_due'),
        ),
        migrations.AddIndex(
            model_name='ticketmatter',
            index=models.Index(fields=['job', 'due_at', 'id'], name='matter_job_due'),
        ),
        migrations.AddConstraint(
            model_name='ticketmatter',
            constraint=models.UniqueConstraint(fields=('ticket', 'matter'), name='ticket_matter_once', violation_error_message='matter: accepted is one that the ticket does not have yet.'),
        ),
        migrations.AddConstraint(
            model_name='ticketmatter',
            constraint=models.CheckConstraint(condition=models.Q(('matter__in', ['answer_overdue', 'enter_dates', 'name_operators', 'starts_soon', 'call_renewal', 'expires_soon', 'expired', 're_mark_asked'])), name='ticket_matter_matter_known', violation_error_message='matter: accepted are answer_overdue, enter_dates, name_operators, starts_soon, call_renewal, expires_soon, expired, re_mark_asked.'),
        ),
        migrations.AddIndex(
            model_name='ticketstanding',
            index=models.Index(fields=['changes_at'], name='standing_changes'),
        ),
        migrations.AddIndex(
            model_name='ticketstanding',
            index=models.Index(fields=['called_at', 'ticket'], name='standing_called'),
        ),
        migrations.AddIndex(
            model_name='ticketstanding',
            index=models.Index(fields=['state', 'called_at', 'ticket'], name='standing_state_called'),
        ),
        migrations.AddIndex(
            model_name='ticketstanding',
            index=models.Index(fields=['job', 'called_at', 'ticket'], name='standing_job_called'),
        ),
        migrations.AddConstraint(
            model_name='ticketstanding',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['not_started', 'in_force', 'expired', 'undated', 'replaced', 'finished'])), name='ticket_standing_state_known', violation_error_message='state: accepted are not_started, in_force, expired, undated, replaced, finished.'),
        ),
        migrations.AddConstraint(
            model_name='ticketstanding',
            constraint=models.CheckConstraint(condition=models.Q(('awaited_count__lte', models.F('named_count'))), name='ticket_standing_awaited_are_named', violation_error_message='awaited_count: accepted is no more than named_count.'),
        ),
        migrations.AddConstraint(
            model_name='ticketstanding',
            constraint=models.CheckConstraint(condition=models.Q(('overdue_count__lte', models.F('awaited_count'))), name='ticket_standing_overdue_are_awaited', violation_error_message='overdue_count: accepted is no more than awaited_count.'),
        ),
        migrations.RunSQL(HAVE_ALL_RECKONED, migrations.RunSQL.noop),
        migrations.RunPython(grant, take_back),
    ]
