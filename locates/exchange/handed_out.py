"""A kept file handed out byte by byte as it came, to be saved and never to be shown in this site's name."""

from django.http import HttpResponse
from django.utils.http import content_disposition_header


def as_attachment(raw: bytes, media_type: str, file_name: str) -> HttpResponse:
    """An answer that a browser saves; its view adds a policy under which nothing in it may run."""
    response = HttpResponse(raw, content_type=media_type)
    response["Content-Disposition"] = content_disposition_header(True, file_name)
    response["X-Content-Type-Options"] = "nosniff"
    return response
