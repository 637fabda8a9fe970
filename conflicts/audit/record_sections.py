"""The parts of the audit that list rows of one table, the newest first."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone

from conflicts.audit.columns import Column, Look, Shown
from conflicts.audit.places import Readers, aware
from conflicts.audit.sections import Section
from conflicts.bore_address import bore_address
from conflicts.desk.variance_evidence import evidence_of_each, sheet_of
from conflicts.edit_words import all_changes, changed_fields
from conflicts.evidence import NONE_ATTACHED
from conflicts.models import audit_records
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_records import EDITED_TABLES
from conflicts.release import standing_of
from locates.local_time import format_moment
from locates.models import RecordAction
from locates.models.board_queries import page_after, place_in


def _listed(
    chosen: Callable[[AuditFilters], QuerySet[Any]], order: tuple[str, ...], readers: Readers
) -> dict[str, Any]:
    """How rows of a queryset are read, counted and found again."""
    return {
        "rows": lambda filters, after, most: list(page_after(chosen(filters), order, after, most)),
        "count": lambda filters: chosen(filters).count(),
        "place_of": lambda row: place_in(order, row),
        "readers": readers,
    }


def _look_of_job(job: Any) -> Look:
    return Look(job.show_units, job.time_zone)


def _bore_page(bore: Any) -> str:
    return "" if bore is None else bore_address(bore.pk, bore.retired_at)


def _checks(release: Any, *, holds: bool) -> str:
    found = [one["code"] for one in release.document["checks"] if one["holds"] is holds]
    return ", ".join(found)


def _verdicts(release: Any) -> str:
    counts: dict[str, int] = {}
    for one in release.document["crossings"]:
        counts[one["verdict"]] = counts.get(one["verdict"], 0) + 1
    return ", ".join(f"{count} {verdict}" for verdict, count in sorted(counts.items()))


def _part(record: Any, name: str, attribute: str) -> Any:
    """An attribute of a one-to-one part, or nothing where the record has no such part."""
    return getattr(getattr(record, name, None), attribute, None)


def _subject(one: Any) -> str:
    if one.mark is None:
        return f"check: {one.get_check_code_display()}"
    return f"{one.what}: {one.mark.ref}, {one.get_kind_display()}"


def _excused(release: Any) -> str:
    """The variances that a release rests on, with who signed them.

    Where it was signed before that was kept: those in force then, and that it is not known which counted.
    """
    signed = release.bore.variances.all()
    if release.excused_by is None:
        found = [one for one in signed if _in_force(one, release.signed_at)]
        unsure = "in force then, not known whether it counted: "
    else:
        found = [one for one in signed if str(one.pk) in release.excused_by]
        unsure = ""
    return "; ".join(f"{unsure}{_subject(one)} ({one.signature.signed_by_name})" for one in found)


def _in_force(variance: Any, at: datetime) -> bool:
    ended_at = _part(variance, "end", "ended_at")
    until = variance.signature.valid_until
    return variance.signature.valid_from <= at < (until if ended_at is None else min(until, ended_at))


def _ended(release: Any) -> str:
    """The withdrawal of a release in words, with its moment."""
    withdrawal = getattr(release, "withdrawal", None)
    if withdrawal is None:
        return ""
    when = format_moment(withdrawal.withdrawn_at, release.bore.job.time_zone)
    return f"{when} by {withdrawal.withdrawn_by_name}: {withdrawal.reason}"


def _released(filters: AuditFilters, after: tuple[Any, ...] | None, most: int) -> list[Any]:
    found = list(page_after(audit_records.releases(filters), RELEASE_ORDER, after, most))
    now = timezone.now()
    for release in found:
        release.standing_words = _standing_words(release, now)
    return found


def _standing_words(release: Any, now: datetime) -> str:
    """How a release stands now; computed from the records only while its shift is not over."""
    if hasattr(release, "withdrawal"):
        return "withdrawn"
    if release.shift_until <= now:
        return "over"
    standing = standing_of(release)
    return " ".join([f"{standing.state.replace('_', ' ')}.".capitalize(), *standing.reasons])


RELEASE_ORDER = ("-signed_at", "-id")
RELEASES = Section(
    code="releases",
    title="Releases",
    words=(
        "Who released what on which grounds, the last first. Whether a release stands is computed now; once "
        "its shift has ended it is over, whatever became of its grounds since."
    ),
    empty_words="No release was signed yet. A foreman signs one on the page of a bore when nothing holds.",
    columns=(
        Column("bore", "Bore", lambda one: one.bore.name, link=lambda one: _bore_page(one.bore)),
        Column("job", "Job", lambda one: one.bore.job.name),
        Column(
            "signed_at",
            "Signed",
            lambda one: one.signed_at,
            Shown.MOMENT,
            link=lambda one: reverse("conflicts:release", args=[one.pk]),
        ),
        Column("signed_by", "By", lambda one: one.signed_by_name),
        Column("shift_from", "Shift from", lambda one: one.shift_from, Shown.MOMENT),
        Column("shift_until", "Shift until", lambda one: one.shift_until, Shown.MOMENT),
        Column("stands_now", "Now", lambda one: one.standing_words),
        Column("crew", "Crew", lambda one: one.crew, Shown.FILE_ONLY),
        Column("rig", "Rig", lambda one: one.rig, Shown.FILE_ONLY),
        Column("crossings_at_signing", "Crossings", _verdicts),
        Column("checks_passed", "Checks passed", lambda one: _checks(one, holds=False), Shown.FILE_ONLY),
        Column("checks_held", "Held at signing", lambda one: _checks(one, holds=True)),
        Column("excused_by_variance", "Under variance", _excused),
        Column("damage_settled", "Settled after damage", lambda one: one.damage_settled),
        Column("withdrawal", "Withdrawn", _ended),
        Column("grounds_digest", "Digest of the grounds", lambda one: one.grounds_digest, Shown.FILE_ONLY),
        Column("inputs_digest", "Digest of the inputs", lambda one: one.inputs_digest, Shown.FILE_ONLY),
        Column("withdrawn_at", "At", lambda one: _part(one, "withdrawal", "withdrawn_at"), Shown.FILE_ONLY),
        Column("release_id", "Release", lambda one: str(one.pk), Shown.FILE_ONLY),
    ),
    look_of=lambda one: _look_of_job(one.bore.job),
    days="A day chooses what was signed on it.",
    **{**_listed(audit_records.releases, RELEASE_ORDER, (aware, UUID)), "rows": _released},
)


def _asked_for(filters: AuditFilters, after: tuple[Any, ...] | None, most: int) -> list[Any]:
    found = list(page_after(audit_records.variances(filters), VARIANCE_ORDER, after, most))
    evidence = evidence_of_each(found)
    for one in found:
        sheet = sheet_of(one, evidence[one.pk])
        one.evidence_groups, one.is_none_attached = sheet.groups(), sheet.is_none_attached
    return found


def _evidence(one: Any, *, with_digests: bool) -> str:
    """Photos and papers by what the signature says of them, and the words of who asked."""
    is_signed = hasattr(one, "signature")
    told = [NONE_ATTACHED] if one.is_none_attached else []
    for words, part in one.evidence_groups:
        names = [f"{file.file_name} {file.sha256}" if with_digests else file.file_name for file in part]
        told.append(f"{words if is_signed else 'not signed for'}: {', '.join(names)}")
    if one.evidence and not with_digests:
        told.append(f"in words: {one.evidence}")
    return "; ".join(told)


VARIANCE_ORDER = ("-requested_at", "-id")
VARIANCES = Section(
    code="variances",
    title="Variances",
    words="What was asked to be excepted, by whom, and who signed or ended it; the last asked for first.",
    empty_words="No variance was asked for yet.",
    columns=(
        Column("subject", "Of", _subject),
        Column("station_m", "Station", lambda one: one.station_m, Shown.FILE_ONLY),
        Column("bore", "Bore", lambda one: one.bore.name, link=lambda one: _bore_page(one.bore)),
        Column("job", "Job", lambda one: one.bore.job.name),
        Column("reason", "Reason", lambda one: one.reason),
        Column("evidence", "Evidence", lambda one: _evidence(one, with_digests=False)),
        Column(
            "evidence_sha256s",
            "Evidence with its SHA-256",
            lambda one: _evidence(one, with_digests=True),
            Shown.FILE_ONLY,
        ),
        Column("bound_to", "Bound to", lambda one: one.bound_words(), Shown.FILE_ONLY),
        Column("requested_at", "Asked for", lambda one: one.requested_at, Shown.MOMENT),
        Column("requested_by", "Asked by", lambda one: one.requested_by_name),
        Column("signed_at", "Signed", lambda one: _part(one, "signature", "signed_at"), Shown.FILE_ONLY),
        Column("signed_by", "Signed by", lambda one: _part(one, "signature", "signed_by_name") or "nobody"),
        Column("valid_from", "From", lambda one: _part(one, "signature", "valid_from"), Shown.MOMENT),
        Column("valid_until", "Until", lambda one: _part(one, "signature", "valid_until"), Shown.MOMENT),
        Column("ended_at", "Ended", lambda one: _part(one, "end", "ended_at"), Shown.FILE_ONLY),
        Column("ended_by", "Ended by", lambda one: _part(one, "end", "ended_by_name") or ""),
        Column("ended_because", "Why ended", lambda one: _part(one, "end", "reason"), Shown.FILE_ONLY),
        Column("variance_id", "Variance", lambda one: str(one.pk), Shown.FILE_ONLY),
    ),
    look_of=lambda one: _look_of_job(one.bore.job),
    days="A day chooses what was asked for on it.",
    passed_by=("verdict",),
    **{**_listed(audit_records.variances, VARIANCE_ORDER, (aware, UUID)), "rows": _asked_for},
)


def _edited(event: Any) -> str:
    """What an edit changed; of a record that was added or deleted, how much it held."""
    if event.action == RecordAction.UPDATE:
        return all_changes(event.before, event.after) or "nothing but who saved it"
    held = len(changed_fields(event.before, event.after))
    return f"a whole record of {held} values: the file has them"


def _of_line(event: Any) -> str:
    """The line of an edit; where the edit gave it another name, or the hole to another line, both."""
    if event.action != RecordAction.UPDATE or event.mark_ref_before == event.mark_ref:
        return event.mark_ref
    return f"{event.mark_ref_before} -> {event.mark_ref}"


EDITS = Section(
    code="edits",
    title="Edited after release",
    words=(
        "What was done to marks and test holes of a job after a release of one of its bores was signed, from "
        "the record that the database keeps by itself; the last first."
    ),
    empty_words="No mark and no test hole was edited after a release.",
    columns=(
        Column("record", "What", lambda one: f"{EDITED_TABLES[one.table_name]} {one.ref}"),
        Column("mark", "Of the line", _of_line),
        Column("job", "Job", lambda one: one.job_name),
        Column("happened_at", "When", lambda one: one.happened_at, Shown.MOMENT),
        Column("person", "Who", lambda one: one.person_name or None),
        Column("action", "Done", lambda one: one.get_action_display()),
        Column("edited", "Before and after", _edited),
        Column("changes", "Changes", lambda one: all_changes(one.before, one.after), Shown.FILE_ONLY),
        Column("source", "From", lambda one: one.source or None),
        Column("database_role", "Database role", lambda one: one.database_role, Shown.FILE_ONLY),
        Column("record_id", "Record", lambda one: str(one.record_id), Shown.FILE_ONLY),
    ),
    look_of=lambda one: Look(one.job_show_units, one.job_time_zone),
    days="A day chooses what was done on it.",
    passed_by=("verdict",),
    **_listed(audit_records.edits, ("-id",), (int,)),
)

DAMAGE = Section(
    code="damage",
    title="Damage and near misses",
    words="What was reported, the last first.",
    empty_words="No damage and no near miss was reported.",
    columns=(
        Column("kind", "What", lambda one: one.get_kind_display()),
        Column("job", "Job", lambda one: one.job.name),
        Column(
            "bore",
            "Bore",
            lambda one: one.bore.name if one.bore else "",
            link=lambda one: _bore_page(one.bore),
        ),
        Column("mark", "Line", lambda one: one.mark.ref if one.mark else ""),
        Column("facility_type", "Type", lambda one: one.get_facility_type_display()),
        Column("operator", "Operator", lambda one: one.operator),
        Column("happened_at", "When", lambda one: one.happened_at, Shown.MOMENT),
        Column("what_happened", "What happened", lambda one: one.what_happened),
        Column("reported_by", "Reported by", lambda one: one.reported_by_name),
        Column("report_id", "Report", lambda one: str(one.pk), Shown.FILE_ONLY),
    ),
    look_of=lambda one: _look_of_job(one.job),
    days="A day chooses what happened on it.",
    passed_by=("verdict",),
    **_listed(audit_records.damage, ("-happened_at", "-id"), (aware, UUID)),
)
