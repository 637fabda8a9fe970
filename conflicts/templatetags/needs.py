"""What needs are called on a page, and the place where each is settled."""

from dataclasses import dataclass
from typing import Any

from django import template
from django.urls import reverse

from conflicts.models import Verdict
from conflicts.needs_today import Matter, Need, Subject
from conflicts.templatetags.checks import TITLES

register = template.Library()

NAMES = {
    Matter.STOPPED: "Stop",
    Matter.STOPPED_AHEAD: "Stop",
    Matter.REFUSED: "Cannot be computed",
    Matter.FEATURES: "Surface feature",
    Matter.HOLES: "Test hole",
    Matter.DATES: "Planned dates",
    Matter.RESPONSES: "No final answer",
}
# Section of the job's page on which a matter is settled, and what a link to it says.
SECTIONS = {
    Matter.TICKETS: ("tickets", "To the tickets"),
    Matter.RESPONSES: ("tickets", "To the tickets"),
    Matter.FEATURES: ("surface-features", "To the surface features"),
    Matter.HOLES: ("test-holes", "To the test holes"),
    Matter.WATCH_HOLES: ("test-holes", "To the test holes"),
}
# Part of the bore's page that shows a matter.
PARTS = {Matter.PROFILE: "#check-profile", Matter.DUTIES: "#check-duties"}


@dataclass(frozen=True)
class Step:
    """A link to the place where a need is settled."""

    words: str
    address: str


@register.filter
def need_name(matter: Matter) -> str:
    """What a matter is called."""
    return NAMES.get(matter) or TITLES.get(matter.value) or matter.value


@register.filter
def is_verdict(matter: Matter) -> bool:
    """Whether a matter is the verdict on crossings, which has a shape of its own."""
    return matter.value in Verdict.values


@register.simple_tag(takes_context=True)
def need_step(context: dict[str, Any], subject: Subject, need: Need) -> Step:
    """Where a need is settled: the form for who may fill it in, else the place that shows it."""
    may = context["perms"]
    ticket = context["sheet"].ticket_ids.get((subject.job.job_id, need.ticket))
    if need.matter is Matter.RESPONSES and ticket and "locates.add_response" in may:
        return Step("Record the answer", reverse("locates:response-add", args=[ticket]))
    if need.matter is Matter.TICKETS and ticket and "locates.change_ticket" in may:
        return Step("Edit the ticket", reverse("locates:ticket-edit", args=[ticket]))
    if need.matter is Matter.DATES and "conflicts.change_bore" in may:
        return Step("Enter the dates", reverse("conflicts:bore-edit", args=[subject.bore_id]))
    if need.matter is Matter.DAY:
        return Step("Walk the bore", reverse("conflicts:walk", args=[subject.bore_id]))
    if need.matter is Matter.STOPPED and "conflicts.view_crossingwatch" in may:
        return Step("To the crossing watch", reverse("conflicts:watches", args=[subject.bore_id]))
    if need.matter is Matter.STOPPED_AHEAD and "conflicts.view_drilledrod" in may:
        return Step("To the head and what is ahead", reverse("conflicts:ahead", args=[subject.bore_id]))
    if need.matter in SECTIONS:
        section, words = SECTIONS[need.matter]
        return Step(words, f"{reverse('conflicts:job', args=[subject.job.job_id])}#{section}")
    return Step("To the bore", reverse("conflicts:bore", args=[subject.bore_id]) + PARTS.get(need.matter, ""))
