"""Where what a check of a bore asks for is done: a sentence to act on leads to the place to act."""

from typing import Any

from django import template
from django.urls import reverse

from conflicts.models import Bore
from conflicts.templatetags.needs import Step

register = template.Library()

TICKETS = ("To the tickets", "tickets")
TEST_HOLES = ("To the test holes", "test-holes")
# Sections of the job's page, each with what a link to it says. The crossings have links of their own.
SECTIONS = {
    "tickets": (TICKETS,),
    "responses": (TICKETS,),
    "surface": (("To the surface features", "surface-features"), TEST_HOLES),
    "watch_holes": (TEST_HOLES,),
}


@register.simple_tag(takes_context=True)
def check_steps(context: dict[str, Any], bore: Bore, code: str) -> list[Step]:
    """Links to where a check that holds is settled."""
    job_page = reverse("conflicts:job", args=[bore.job_id])
    steps = [Step(words, f"{job_page}#{section}") for words, section in SECTIONS.get(code, ())]
    if code == "tickets":
        steps.insert(0, Step("Ticket by ticket", "#cover"))
    elif code == "day":
        steps.append(Step("Walk the bore", reverse("conflicts:walk", args=[bore.pk])))
    elif code == "profile":
        may_change = "conflicts.change_bore" in context["perms"]
        edit = Step("Edit the bore", reverse("conflicts:bore-edit", args=[bore.pk]))
        steps.append(edit if may_change else Step("To the bore as planned", "#plan"))
    elif code == "duties":
        rule = reverse("locates:rule", args=[bore.job.jurisdiction_id])
        steps.append(Step(f"The rule of {bore.job.jurisdiction.code}", rule))
    return steps
