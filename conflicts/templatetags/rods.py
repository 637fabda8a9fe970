"""Figures of what was drilled."""

from math import degrees

from django import template
from django.template import Context

from conflicts.drilled_beside import ON_PLAN_M
from locates.minus import format_decimal
from locates.units import format_length

register = template.Library()


@register.simple_tag(takes_context=True)
def show_off(context: Context, off_m: float, more: str, less: str) -> str:
    """How far something is off the plan, with the word for its side."""
    if abs(off_m) < ON_PLAN_M:
        return "on plan"
    return f"{format_length(abs(off_m), context['job'].show_units)} {more if off_m > 0.0 else less}"


@register.simple_tag
def show_turn(turn_rad: float) -> str:
    """Turn of a rod in three dimensions, in degrees."""
    return f"{format_decimal(degrees(turn_rad), 1)}\N{DEGREE SIGN}"
