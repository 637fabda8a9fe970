"""Whether the site can do its work, for the machines that watch it."""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@login_not_required
@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """Answer 200 when the database answers with its PostGIS, else 503; no detail, since anyone may ask."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT postgis_lib_version()")
    except DatabaseError:
        return HttpResponse("database unreachable\n", status=503, content_type="text/plain")
    return HttpResponse("ok\n", content_type="text/plain")
