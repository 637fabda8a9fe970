"""What people follow, what they were told, the mail that goes out, and their calendars' addresses."""

import django.db.models.deletion
import locates.models.job
import uuid
from django.conf import settings
from django.db import migrations, models

from locates import roles

RECORDS = ("follow", "notice", "noticesetting", "outgoingmail", "calendarfeed")
READ_EVERY_MAIL = "read_every_mail"


def grant(apps, schema_editor):
    """Let the safety manager read every mail that was sent; each person's own need no permission."""
    roles.grant(apps, schema_editor, "locates", {})
    database = schema_editor.connection.alias
    permissions = apps.get_model("auth", "Permission").objects.using(database)
    groups = apps.get_model("auth", "Group").objects.using(database)
    groups.get(name=roles.SAFETY_MANAGER).permissions.add(permissions.get(codename=READ_EVERY_MAIL))


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    codenames = [f"{action}_{record}" for record in RECORDS for action in ("view", "add", "change")]
    for permission in permissions.filter(
        content_type__app_label="locates", codename__in=[*codenames, READ_EVERY_MAIL]
    ):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ('auth', '0012_alter_user_first_name_max_length'),
        ('locates', '0010_ticket_standing'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Notice',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('event', models.CharField(choices=[('answer_overdue', 'answer overdue'), ('starts_unanswered', 'start reached, answers missing'), ('renewal_due', 'renewal due today'), ('expires_soon', 'expires soon'), ('expired', 'expired'), ('mark_gone', 'mark reported gone')], max_length=20)),
                ('due_at', models.DateTimeField()),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('subject', models.CharField(blank=True, max_length=300)),
                ('words', models.TextField(blank=True)),
                ('read_at', models.DateTimeField(blank=True, null=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='notices', to='locates.job')),
                ('mark', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='notices', to='locates.mark')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='notices', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='notices', to='locates.ticket')),
            ],
            options={
                'ordering': ('-made_at',),
            },
        ),
        migrations.CreateModel(
            name='NoticeSetting',
            fields=[
                ('person', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='notice_setting', serialize=False, to=settings.AUTH_USER_MODEL)),
                ('alerts_by_mail', models.BooleanField(default=True, verbose_name='a mail for every notice, at once')),
                ('digest_by_mail', models.BooleanField(default=True, verbose_name='a digest by mail, once a day')),
                ('digest_hour', models.PositiveSmallIntegerField(default=6, verbose_name='hour of the digest')),
                ('time_zone', models.CharField(blank=True, help_text="Of the digest's hour; without one that of the job followed first.", max_length=60, validators=[locates.models.job.known_time_zone])),
                ('digest_on', models.DateField(blank=True, editable=False, null=True, verbose_name='day of the last digest')),
                ('digest_at', models.DateTimeField(blank=True, editable=False, null=True, verbose_name='moment of the last digest')),
            ],
            options={
                'ordering': ('person_id',),
                'constraints': [models.CheckConstraint(condition=models.Q(('digest_hour__lte', 23)), name='notice_setting_digest_hour_of_a_day', violation_error_message='digest_hour: accepted is an hour from 0 to 23.')],
            },
        ),
        migrations.CreateModel(
            name='OutgoingMail',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('alert', 'alert'), ('digest', 'daily digest')], max_length=10)),
                ('digest_on', models.DateField(blank=True, null=True, verbose_name='day of the digest')),
                ('to_address', models.EmailField(max_length=254)),
                ('subject', models.CharField(max_length=300)),
                ('body', models.TextField()),
                ('message_id', models.CharField(max_length=300, unique=True)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('sent', 'sent'), ('refused', 'refused by the mail server')], default='waiting', max_length=10)),
                ('attempts', models.PositiveIntegerField(default=0)),
                ('next_attempt_at', models.DateTimeField()),
                ('last_error', models.TextField(blank=True)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
                ('notice', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='mail', to='locates.notice')),
                ('person', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='mails', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-made_at', 'pk'),
                'permissions': (('read_every_mail', 'Can read every mail that was sent'),),
            },
        ),
        migrations.CreateModel(
            name='CalendarFeed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token_hash', models.CharField(editable=False, max_length=64, unique=True)),
                ('followed_only', models.BooleanField(default=False, verbose_name='only what I follow')),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('read_at', models.DateTimeField(blank=True, null=True, verbose_name='last read at')),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='calendar_feeds', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-made_at',),
                'constraints': [models.UniqueConstraint(condition=models.Q(('revoked_at__isnull', True)), fields=('person',), name='calendar_feed_one_in_use', violation_error_message='person: accepted is one address in use for each person.')],
            },
        ),
        migrations.CreateModel(
            name='Follow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('since', models.DateTimeField(auto_now_add=True)),
                ('job', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='follows', to='locates.job')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='follows', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='follows', to='locates.ticket')),
            ],
            options={
                'ordering': ('since', 'pk'),
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('job__isnull', True), ('ticket__isnull', False)), models.Q(('job__isnull', False), ('ticket__isnull', True)), _connector='OR'), name='follow_job_or_ticket', violation_error_message='job: accepted is either a job or a ticket.'), models.UniqueConstraint(fields=('person', 'job'), name='follow_job_once', violation_error_message='job: accepted is a job that the person does not follow yet.'), models.UniqueConstraint(fields=('person', 'ticket'), name='follow_ticket_once', violation_error_message='ticket: accepted is a ticket that the person does not follow yet.')],
            },
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(fields=['person', '-made_at'], name='notice_of_person'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('read_at__isnull', True)), fields=['person'], name='notice_unread'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('words', '')), fields=['made_at'], name='notice_without_words'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('event', 'mark_gone'), ('mark__isnull', False)), models.Q(models.Q(('event', 'mark_gone'), _negated=True), ('mark__isnull', True), ('ticket__isnull', False)), _connector='OR'), name='notice_names_its_thing', violation_error_message='ticket: accepted is the ticket, or the mark, that the event is of.'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.UniqueConstraint(condition=models.Q(('mark__isnull', True)), fields=('person', 'ticket', 'event', 'due_at'), name='notice_of_ticket_once', violation_error_message='event: accepted is one that the person has not been told of.'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.UniqueConstraint(condition=models.Q(('mark__isnull', False)), fields=('person', 'mark', 'event', 'due_at'), name='notice_of_mark_once', violation_error_message='event: accepted is one that the person has not been told of.'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.CheckConstraint(condition=models.Q(('event__in', ['answer_overdue', 'starts_unanswered', 'renewal_due', 'expires_soon', 'expired', 'mark_gone'])), name='notice_event_known', violation_error_message='event: accepted are answer_overdue, starts_unanswered, renewal_due, expires_soon, expired, mark_gone.'),
        ),
        migrations.AddIndex(
            model_name='outgoingmail',
            index=models.Index(condition=models.Q(('state', 'waiting')), fields=['made_at'], name='outgoing_mail_waiting'),
        ),
        migrations.AddIndex(
            model_name='outgoingmail',
            index=models.Index(fields=['person', '-made_at'], name='outgoing_mail_of_person'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(('to_address__regex', '\\S')), name='outgoing_mail_to_address_written', violation_error_message='to_address: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(('subject__regex', '\\S')), name='outgoing_mail_subject_written', violation_error_message='subject: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(('body__regex', '\\S')), name='outgoing_mail_body_written', violation_error_message='body: accepted is text that is not blank.'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['alert', 'digest'])), name='outgoing_mail_kind_known', violation_error_message='kind: accepted are alert, digest.'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'sent', 'refused'])), name='outgoing_mail_state_known', violation_error_message='state: accepted are waiting, sent, refused.'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('sent_at__isnull', False), ('state', 'sent')), models.Q(models.Q(('state', 'sent'), _negated=True), ('sent_at__isnull', True)), _connector='OR'), name='outgoing_mail_sent_has_sent_at', violation_error_message='sent_at: accepted is a moment once the mail is sent.'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('digest_on__isnull', False), ('kind', 'digest')), models.Q(models.Q(('kind', 'digest'), _negated=True), ('digest_on__isnull', True)), _connector='OR'), name='outgoing_mail_digest_has_its_day', violation_error_message='digest_on: accepted is the day of a digest.'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.UniqueConstraint(fields=('person', 'digest_on'), name='outgoing_mail_digest_once_a_day', violation_error_message='digest_on: accepted is a day without a digest to the person.'),
        ),
        migrations.AddIndex(
            model_name='ticket',
            index=models.Index(condition=models.Q(('response_due_at__isnull', False)), fields=['response_due_at'], name='ticket_response_due_at'),
        ),
        migrations.AddIndex(
            model_name='ticket',
            index=models.Index(condition=models.Q(('legal_start_at__isnull', False)), fields=['legal_start_at'], name='ticket_legal_start_at'),
        ),
        migrations.AddIndex(
            model_name='ticket',
            index=models.Index(condition=models.Q(('latest_start_at__isnull', False)), fields=['latest_start_at'], name='ticket_latest_start_at'),
        ),
        migrations.AddIndex(
            model_name='ticket',
            index=models.Index(condition=models.Q(('renew_by__isnull', False)), fields=['renew_by'], name='ticket_renew_by'),
        ),
        migrations.AddIndex(
            model_name='ticket',
            index=models.Index(condition=models.Q(('expires_at__isnull', False)), fields=['expires_at'], name='ticket_expires_at'),
        ),
        migrations.RunPython(grant, take_back),
    ]
