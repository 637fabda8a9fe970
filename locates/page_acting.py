"""What a page writes is recorded with its address and the person who is logged in."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from locates.acting import acting

SAFE = {"GET", "HEAD", "OPTIONS", "TRACE"}


class PageActingMiddleware:
    """Tell the database who sends something; a page that is only looked at writes nothing."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request, told."""
        if request.method in SAFE:
            return self.get_response(request)
        person = request.user if request.user.is_authenticated else None
        with acting(f"page {request.path}", person):
            return self.get_response(request)
