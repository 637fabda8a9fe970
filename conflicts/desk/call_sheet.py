"""What to tell the one-call centre of a ticket that is to be called in."""

from django.contrib.gis.geos import MultiPolygon

from conflicts.desk.draft_ticket import METHOD, ToDraft
from conflicts.models import Bore
from locates.local_time import format_moment
from locates.models import Ticket
from locates.units import format_length, format_station


def call_points(bore: Bore, ticket: Ticket, wanted: ToDraft) -> list[tuple[str, str]]:
    """Each point to tell with its name, in the order of a call; what is not known is said so."""
    job, rule = bore.job, bore.job.jurisdiction
    units = job.show_units
    notice = " ".join(part for part in (rule.notice_value, rule.notice_unit) if part)
    operators = ", ".join(job.operators.order_by("name").values_list("name", flat=True))
    return [
        ("Place", f"{job.name}, {bore.name}: {_where(wanted, units)}"),
        ("Work", f"{METHOD}{f' for {bore.product}' if bore.product else ''}. Ask that the ticket says so."),
        ("Depth", f"to {format_length(ticket.stated_depth_m, units, 'up')} below the ground"),
        ("Hole", f"{format_length(bore.final_diameter_m, units)} across when finished"),
        ("Begins", _when(bore, "planned_start_at")),
        ("Ends", _when(bore, "planned_finish_at")),
        ("White lining", "paint the path, the pits and both ends white before you call"),
        ("Operators logged on this job", operators or "none"),
        (f"Notice in {rule.code}", f"{notice or 'not on record: ask the centre'} ({rule.citation})"),
    ]


def corners_to_read(area: MultiPolygon) -> list[list[tuple[float, float]]]:
    """Latitude and longitude of the corners of each part of a work area, in degrees, none twice."""
    return [[(latitude, longitude) for longitude, latitude in part.shell.coords[:-1]] for part in area]


def _where(wanted: ToDraft, units: str) -> str:
    unit = "ft" if units == "feet" else "m"
    places = [
        f"station {format_station(low, units)} to {format_station(high, units)} {unit}"
        for low, high in wanted.stretches_m
    ]
    return ", ".join([*places, *(f"the {end} pit" for end in wanted.pit_ends)])


def _when(bore: Bore, name: str) -> str:
    moment = getattr(bore, name)
    return "not planned yet" if moment is None else format_moment(moment, bore.job.time_zone)
