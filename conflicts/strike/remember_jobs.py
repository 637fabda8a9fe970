"""Whoever is shown a page of a job keeps the right to its strike page: here for all, not view by view."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from conflicts.strike.opened_jobs import remember_job


class RememberJobsMiddleware:
    """Have the phone remember the job of a page that it was shown, and so renew it for 30 days.

    The gate of the company has found the job of the address by then; it finds none for who is not logged in,
    so no phone prolongs its right by the strike page alone.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, and remember what was shown."""
        response = self.get_response(request)
        job_id = getattr(request, "job_id_of_address", None)
        if job_id is None or not _is_page(response) or not request.user.has_perm("locates.view_job"):
            return response
        return remember_job(request, response, job_id)


def _is_page(response: HttpResponse) -> bool:
    return response.status_code == 200 and response.headers.get("Content-Type", "").startswith("text/html")
