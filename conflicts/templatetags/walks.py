"""Walks along a bore, as pages show them."""

from django import template
from django.utils import timezone

from conflicts.desk.walk_sheet import walk_of_today
from conflicts.models import Bore, DailyWalk
from conflicts.walk_days import not_so as what_is_not_so

register = template.Library()


@register.filter
def not_so(walk: DailyWalk) -> list[str]:
    """What a walk found not to be as drilling demands."""
    return what_is_not_so(walk)


@register.simple_tag
def walk_today(bore: Bore) -> DailyWalk | None:
    """The walk that counts for a bore at this moment."""
    return walk_of_today(bore, timezone.now())
