"""The parts of the audit that list single crossings: their margins, and those that nobody watched."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.urls import reverse

from conflicts.audit.columns import Column, Look, Shown
from conflicts.audit.places import aware
from conflicts.audit.sections import Section
from conflicts.bore_address import bore_address
from conflicts.models.audit_excused import count_excused, excused
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_margins import least_margins, margin_figures
from conflicts.models.audit_unwatched import count_unwatched, unwatched


def _count_margins(filters: AuditFilters) -> int:
    return margin_figures(filters).count


def _look_of(row: Any) -> Look:
    return Look(row.show_units, row.time_zone)


def _bore_page(row: Any) -> str:
    return bore_address(row.bore_id, row.bore_retired_at)


def _found(row: Any) -> str:
    return "as drilled" if row.is_drilled else "as planned"


def _as_drilled_page(row: Any) -> str:
    """Of a line that the plan does not meet the part of the bore's page that tells of it; else nothing."""
    return f"{_bore_page(row)}#as-drilled" if row.is_drilled else ""


def _watches_page(row: Any) -> str:
    """Of such a line the bore's watches, which have those too that are not there any more; else nothing.

    A retired bore has no page of its watches any more.
    """
    if row.bore_retired_at is not None or not row.is_drilled:
        return _as_drilled_page(row)
    return reverse("conflicts:watches", args=[row.bore_id])


def _figure(row: Any) -> str:
    if row.is_measured:
        return f"gap on the {row.pass_made} pass"
    return "worst case as drilled" if row.is_drilled else "worst case"


# Whether the plan meets the line there, or the hole alone does; and the place to act.
FOUND = Column("found", "Found", _found, link=_as_drilled_page)
FOUND_UNSEEN = replace(FOUND, link=_watches_page)

# On which of the days between nothing was drilled nobody wrote down.
DAYS_OF_DRILLING = (
    "A day chooses every bore with it among the days of its drilling: those from the first to the last of "
    "its rods, watches, later passes, released shifts that are over, and its close-out."
)

MARGINS = Section(
    code="margins",
    title="Least margins",
    words=(
        "What was left above the required clearance, the least first and before it what is not known: the "
        "worst case of each crossing when a release was signed, that of each line which the drilled hole "
        "alone meets, when the rod past it was logged, and the gap measured on each watch."
    ),
    empty_words="No release was signed and no pass was seen yet.",
    columns=(
        Column("mark", "Crossing", lambda one: one.mark_ref),
        Column("kind", "Kind", lambda one: one.kind),
        FOUND,
        Column("station_m", "Station", lambda one: one.station_m, Shown.STATION),
        Column("bore", "Bore", lambda one: one.bore_name, link=_bore_page),
        Column("job", "Job", lambda one: one.job_name),
        Column("measure", "Figure", _figure),
        Column("left_m", "Left", lambda one: one.left_m, Shown.CLEARANCE),
        Column("required_m", "Required", lambda one: one.required_m, Shown.REQUIRED),
        Column("margin_m", "Margin", lambda one: one.margin_m, Shown.MARGIN),
        Column("verdict_at_release", "Verdict", lambda one: one.verdict or None),
        Column("under_variance", "Under variance", lambda one: one.is_under_variance, Shown.YES_NO),
        Column("at", "When", lambda one: one.at, Shown.MOMENT),
        Column("person", "Who", lambda one: one.person),
        Column("record_id", "Record", lambda one: str(one.id), Shown.FILE_ONLY),
    ),
    look_of=_look_of,
    rows=least_margins,
    count=_count_margins,
    place_of=lambda one: one.place,
    readers=(float, aware, UUID, int),
    days="A day chooses what was signed, measured or drilled on it.",
)

UNWATCHED = Section(
    code="unwatched",
    title="Drilled with no watch",
    words=(
        "Crossings of bores that were drilled, where nobody is recorded to have seen a pass, or nobody since "
        "one of its kind was made again or rods were pulled back to drill the hole anew. Drilled is a "
        "bore with a close-out, a drilled rod or any watch, and one whose released shift is over, unless the "
        "release was taken back before. Its crossings are those that its close-out knew, else those last "
        "computed, of the plan and of the hole as drilled, and those that its releases named, or its hole "
        "met, and that are gone from the records since. How far its rods reach, by their lengths, pitches "
        "and stations, stands beside each: what lies farther on may be still to drill, or drilled with "
        "no rod logged."
    ),
    empty_words="Every pass of every crossing of the drilled bores was seen, or no bore was drilled.",
    columns=(
        Column("mark", "Crossing", lambda one: one.mark_ref),
        Column("kind", "Kind", lambda one: one.kind),
        FOUND_UNSEEN,
        Column("station_m", "Station", lambda one: one.station_m, Shown.STATION),
        Column("operator", "Operator", lambda one: one.operator),
        Column("facility_type", "Type", lambda one: one.facility_type.replace("_", " ")),
        Column("bore", "Bore", lambda one: one.bore_name, link=_bore_page),
        Column("job", "Job", lambda one: one.job_name),
        Column("passes_not_seen", "Not seen", lambda one: ", ".join(one.missing_passes)),
        Column("rods_to_m", "Rods to", lambda one: one.logged_to_m, Shown.STATION, absent="no rods"),
        Column("verdict", "Verdict", lambda one: one.verdict or None),
        Column("named_by_release", "In the release", lambda one: one.release_id is not None, Shown.YES_NO),
        Column("excused_by", "Variance signed by", lambda one: one.excused_by or ""),
        Column("closed_at", "Closed out", lambda one: one.closed_at, Shown.MOMENT, absent="not closed out"),
        Column("closed_by", "By", lambda one: one.closed_by_name or "nobody"),
    ),
    look_of=_look_of,
    rows=unwatched,
    count=count_unwatched,
    place_of=lambda one: one.place,
    readers=(UUID, float, str, str, str),
    days=DAYS_OF_DRILLING,
)


def _what_was_excused(row: Any) -> str:
    if row.subject == "crossing":
        return "clearance"
    if row.subject == "gone":
        return "a crossing that is gone, as a whole"
    if row.subject == "drilled":
        return "the hole as drilled"
    return f"watch of the {row.pass_made}" if row.pass_made else "watch"


EXCUSED = Section(
    code="excused",
    title="Drilled under variance",
    words=(
        "Crossings of bores that were drilled while a variance for the clearance, or for the watch of a "
        "pass, was in force, or for which one is now: a line for each."
    ),
    empty_words="No crossing of a drilled bore was, or is, under a signed variance.",
    columns=(
        Column("mark", "Crossing", lambda one: one.mark_ref),
        Column("kind", "Kind", lambda one: one.kind),
        FOUND,
        Column("station_m", "Station", lambda one: one.station_m, Shown.STATION),
        Column("operator", "Operator", lambda one: one.operator, Shown.FILE_ONLY),
        Column("facility_type", "Type", lambda one: one.facility_type.replace("_", " ")),
        Column("bore", "Bore", lambda one: one.bore_name, link=_bore_page),
        Column("job", "Job", lambda one: one.job_name),
        Column("verdict_at_release", "Verdict", lambda one: one.verdict or None),
        Column(
            "excused",
            "Excused",
            _what_was_excused,
            link=lambda one: reverse("conflicts:variance", args=[one.variance_id]),
        ),
        Column("reason", "Reason", lambda one: one.reason, Shown.FILE_ONLY),
        Column("signed_by", "Signed by", lambda one: one.signed_by_name),
        Column("signed_at", "Signed", lambda one: one.signed_at, Shown.FILE_ONLY),
        Column("valid_from", "From", lambda one: one.valid_from, Shown.MOMENT),
        Column("valid_until", "Until", lambda one: one.valid_until, Shown.MOMENT),
        Column("ended_at", "Ended", lambda one: one.ended_at, Shown.MOMENT, absent="not ended"),
        Column("ended_by", "Ended by", lambda one: one.ended_by_name or "", Shown.FILE_ONLY),
        Column("in_force_now", "In force now", lambda one: one.is_in_force, Shown.YES_NO),
        Column("variance_id", "Variance", lambda one: str(one.variance_id), Shown.FILE_ONLY),
    ),
    look_of=_look_of,
    rows=excused,
    count=count_excused,
    place_of=lambda one: one.place,
    readers=(UUID, float, str, str, UUID),
    days=DAYS_OF_DRILLING,
)
