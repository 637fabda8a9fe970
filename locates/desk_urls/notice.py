"""Addresses of notices and what a person follows."""

from django.urls import path

from locates.views import notices, notices_told

urlpatterns = [
    path("notices/", notices.notices, name="notices"),
    path("notices/read/", notices.read_notices, name="notices-read"),
    path("notices/settings/", notices.notice_settings, name="notice-settings"),
    path("notices/settings/leave-off/", notices.leave_off_following, name="leave-off"),
    path("notices/told/", notices_told.told, name="notices-told"),
    path("notices/told/csv/", notices_told.told_file, name="notices-told-file"),
    path("notices/mail/", notices.mails, name="mails"),
    path("notices/mail/<uuid:mail_id>/", notices.mail, name="mail"),
    path("jobs/<uuid:job_id>/follow/", notices.follow_a_job, name="job-follow"),
    path("tickets/<uuid:ticket_id>/follow/", notices.follow_a_ticket, name="ticket-follow"),
]
