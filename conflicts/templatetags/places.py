"""Places beside a bore, in words."""

from typing import Any

from django import template

from conflicts.sentences import offset_words

register = template.Library()


@register.simple_tag(takes_context=True)
def show_offset(context: dict[str, Any], offset_m: float) -> str:
    """Offset from the alignment, with its side."""
    return offset_words(offset_m, context["job"].show_units)
