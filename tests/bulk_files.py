"""CSV files of tickets and of responses as a coordinator would send them in."""

import csv
import io

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from locates.exchange.bulk_kinds import BULK_KINDS
from tests import factories
from tests.page_forms import form_of

AREA = "38.0001 -78.5003; 38.0001 -78.4980; 37.9998 -78.4980; 37.9998 -78.5003"
TICKET = {
    "number": "A-1",
    "kind": "routine",
    "called at": "2026-11-02 08:00",
    "work area": AREA,
}
RESPONSE = {"ticket number": "A-1", "answer": "marked", "time": "2026-11-04 10:00"}


def csv_of(kind, *rows, name="office.csv"):
    """A file with the headings of the empty one."""
    out = io.StringIO()
    writer = csv.DictWriter(out, BULK_KINDS[kind].headings)
    writer.writeheader()
    writer.writerows(rows)
    return SimpleUploadedFile(name, out.getvalue().encode(), content_type="text/csv")


def tickets_csv(*rows, **values):
    """Tickets, each like `TICKET` but for what a row says."""
    return csv_of("ticket", *({**TICKET, **row} for row in rows or [{}]), **values)


def area_at(east_m):
    """Corners of a work area of 20 m by 20 m, in words of a cell."""
    ring = factories.box(east_m, -10, east_m + 20, 10).shell.coords[:-1]
    return "; ".join(f"{latitude:.7f} {longitude:.7f}" for longitude, latitude in ring)


def bring(client, job, kind, upload):
    """Send a file in, and give the address of its columns."""
    response = client.post(reverse("locates:bulk", args=[job.pk]), {"kind": kind, "file": upload})
    assert response.status_code == 302, response.context["form"].errors
    return response.url


def choose(client, address, **values):
    """Confirm the columns as they are shown but for some, and give the address of the check."""
    response = client.post(address, {**form_of(client, address), **values})
    assert response.status_code == 302, response.context["form"].errors
    return response.url


def to_the_check(client, job, kind, upload, **values):
    """Send a file in and confirm its columns; gives the address of the check."""
    return choose(client, bring(client, job, kind, upload), **values)


def lines_of(client, check):
    """What the check says is wrong."""
    return client.get(check).context["lines"]
