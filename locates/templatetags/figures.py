"""Figures as a page shows them: in the job's units and time zone, an unknown always said in words.

The tags read ``job`` from the template's context, since its settings say how it wants to be shown.
"""

from datetime import datetime
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from locates.local_time import format_moment
from locates.units import UNKNOWN, format_grade, format_length, format_station

register = template.Library()

Context = dict[str, Any]
UNKNOWN_MARKUP = mark_safe(f'<span class="unknown">{UNKNOWN}</span>')  # noqa: S308 - a constant


def _or_unknown(shown: str) -> str | SafeString:
    return UNKNOWN_MARKUP if shown == UNKNOWN else shown


@register.simple_tag(takes_context=True)
def show_length(context: Context, length_m: float | None) -> str | SafeString:
    """Length to the nearest step of the job's units."""
    return _or_unknown(format_length(length_m, context["job"].show_units))


@register.simple_tag(takes_context=True)
def show_other_length(context: Context, length_m: float | None) -> str | SafeString:
    """The same in the units that the job does not show."""
    other = "metric" if context["job"].show_units == "feet" else "feet"
    return _or_unknown(format_length(length_m, other))


@register.simple_tag(takes_context=True)
def show_clearance(context: Context, length_m: float | None) -> str | SafeString:
    """Length that must be large enough, never rounded up."""
    return _or_unknown(format_length(length_m, context["job"].show_units, "down"))


@register.simple_tag(takes_context=True)
def show_required(context: Context, length_m: float | None) -> str | SafeString:
    """Length that has to be reached, never rounded down."""
    return _or_unknown(format_length(length_m, context["job"].show_units, "up"))


@register.simple_tag(takes_context=True)
def show_station(context: Context, station_m: float | None) -> str | SafeString:
    """Station along the bore."""
    return _or_unknown(format_station(station_m, context["job"].show_units))


@register.simple_tag(takes_context=True)
def station_unit(context: Context) -> str:
    """Unit in which stations are counted."""
    return "ft" if context["job"].show_units == "feet" else "m"


@register.simple_tag
def show_width(width_m: float | None) -> str | SafeString:
    """Width that a rule gives, in both systems: no job says which to show."""
    if width_m is None:
        return UNKNOWN_MARKUP
    return f"{format_length(width_m, 'feet')} ({format_length(width_m, 'metric')})"


@register.simple_tag
def show_grade(grade_ratio: float | None) -> str | SafeString:
    """Grade in percent."""
    return _or_unknown(format_grade(grade_ratio))


@register.simple_tag
def show_angle(angle_deg: float | None) -> str | SafeString:
    """Angle in whole degrees."""
    return UNKNOWN_MARKUP if angle_deg is None else f"{angle_deg:.0f}\N{DEGREE SIGN}"


@register.simple_tag(takes_context=True)
def show_time(context: Context, moment: datetime | None) -> SafeString:
    """Moment in the job's time zone, with the zone's abbreviation."""
    if moment is None:
        return UNKNOWN_MARKUP
    shown = format_moment(moment, context["job"].time_zone)
    return format_html('<time datetime="{}">{}</time>', moment.isoformat(), shown)


@register.simple_tag
def show_yes_no(answer: bool | None) -> str | SafeString:
    """Answer to a yes-or-no question, which may be unknown."""
    return UNKNOWN_MARKUP if answer is None else "yes" if answer else "no"


@register.filter
def or_unknown(text: str | None) -> str | SafeString:
    """Text, or that it is unknown when there is none."""
    return text or UNKNOWN_MARKUP
