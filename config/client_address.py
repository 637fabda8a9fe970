"""From which address a request comes, also where a proxy stands in front."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str | None:
    """The address that wrong passwords are counted for; None where there is none, as on a Unix socket.

    Each proxy adds the address that spoke to it at the end of ``X-Forwarded-For``. What stands before the
    last ``PROXY_COUNT`` of them was written by whoever asks, and is not believed.
    """
    spoke_to_us = _read(request.META.get("REMOTE_ADDR", ""))
    if not settings.PROXY_COUNT:
        return spoke_to_us
    named = request.headers.get("X-Forwarded-For", "").split(",")
    if len(named) < settings.PROXY_COUNT:
        return spoke_to_us
    return _read(named[-settings.PROXY_COUNT]) or spoke_to_us


def _read(text: str) -> str | None:
    try:
        return str(ip_address(text.strip()))
    except ValueError:
        return None
