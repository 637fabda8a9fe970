"""Whether a person follows something, how much they have not read, and a matter in words."""

from datetime import datetime
from typing import Any

from django import template
from django.contrib.auth.models import AbstractBaseUser
from django.utils.html import format_html
from django.utils.safestring import SafeString

from locates.local_time import format_moment
from locates.models import Follow, Job, Notice, Ticket, TicketMatter
from locates.templatetags.figures import UNKNOWN_MARKUP

register = template.Library()


@register.simple_tag
def unread_notices(person: AbstractBaseUser) -> int:
    """How many notices a person has not read; one query of an index that holds nothing else."""
    return Notice.objects.unread(person.pk).count()


@register.inclusion_tag("locates/follow_form.html", takes_context=True)
def follow_button(context: dict[str, Any], subject: Job | Ticket) -> dict[str, Any]:
    """The button that follows a job or a ticket, or leaves it off."""
    request = context["request"]
    kind = "job" if isinstance(subject, Job) else "ticket"
    follow = Follow.objects.filter(person_id=request.user.pk, **{kind: subject}).first()
    return {
        "request": request,
        "csrf_token": context.get("csrf_token"),
        "subject": subject,
        "kind": kind,
        "follow": follow,
    }


@register.simple_tag
def show_utc(moment: datetime | None) -> str | SafeString:
    """Moment that belongs to no job, in UTC."""
    if moment is None:
        return UNKNOWN_MARKUP
    return format_html('<time datetime="{}">{}</time>', moment.isoformat(), format_moment(moment, "UTC"))


@register.filter
def matter_words(matter: TicketMatter) -> str:
    """One line: ticket, job, what it asks for, and the moment in the job's zone."""
    due = format_moment(matter.due_at, matter.job.time_zone)
    return f"Ticket {matter.ticket.number}, {matter.job.name}: {matter.get_matter_display()}, {due}"
