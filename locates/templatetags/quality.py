"""The quality level that a record earns, in words."""

from django import template

from locates import quality

register = template.Library()


@register.simple_tag
def mark_quality() -> str:
    """What every mark earns."""
    return quality.MARK_QUALITY


@register.simple_tag
def hole_quality(found: bool) -> str:
    """What a test hole earns."""
    return quality.hole_quality(found)
