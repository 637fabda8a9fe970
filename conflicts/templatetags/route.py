"""The sign of each stage of a bore, and of what joins and parts bores."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from conflicts.route.footage import Stage
from conflicts.route.signs import SIGNS

register = template.Library()


@register.simple_tag
def stage_shape(stage: str) -> SafeString:
    """The shape of a stage, or that of a "joint" or a "gap" of the route."""
    name = SIGNS[Stage(stage)][0] if stage in SIGNS else f"route-{stage}"
    return format_html('<svg class="shape" aria-hidden="true"><use href="#{}"></use></svg>', name)


@register.simple_tag
def stage_class(stage: str) -> str:
    """Whether a stage stops the work or leaves it free, as a class for its colour."""
    return SIGNS[Stage(stage)][1]
