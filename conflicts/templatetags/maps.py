"""The map on a page: what it shows in words, and the pictures under it where the set-up names some."""

import json

import leaflet
from django import template
from django.conf import settings
from django.utils import timezone

from conflicts.map_summary import bore_map_summary, job_map_summary
from conflicts.models import Bore
from locates.models import Job

register = template.Library()


@register.simple_tag
def map_tiles() -> str:
    """Layers of pictures as django-leaflet's settings name them, for the script that makes the map."""
    return json.dumps(
        [[str(name), address, options] for name, address, options in leaflet.app_settings["TILES"]]
    )


@register.simple_tag
def map_attribution() -> str:
    """Whose pictures lie under the map; nothing where there are none."""
    return settings.MAP_TILE_ATTRIBUTION if settings.MAP_TILE_URL else ""


@register.simple_tag
def map_words(job: Job, bore: Bore | None = None) -> str:
    """What the map of a job, or of one bore of it, shows, in words."""
    at = timezone.now()
    return job_map_summary(job, at) if bore is None else bore_map_summary(bore, at)
