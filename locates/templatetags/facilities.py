"""Facility types as signs: the letter code in the colour of its paint, and the name for who wants words."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from locates.facility_codes import LETTER_CODES
from locates.models import FacilityType

register = template.Library()


@register.simple_tag
def facility_sign(facility_type: str) -> SafeString:
    """Letter code of a facility type, titled with its name."""
    kind = FacilityType(facility_type)
    return format_html(
        '<abbr class="code code-{}" title="{}">{}</abbr>', kind.value, kind.label, LETTER_CODES[kind]
    )


@register.filter
def facility_name(facility_type: str) -> str:
    """Name of a facility type."""
    return FacilityType(facility_type).label
