"""The signatures on the cover of a clearance record, in the order in which they were made."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from conflicts.models import CloseOut, Release, Variance
from conflicts.record.sheet import RecordSignature
from conflicts.record.variances import subject_words
from conflicts.release import Standing


def signatures_of(
    releases: Iterable[Release],
    standings: Mapping[UUID, Standing],
    variances: Iterable[Variance],
    close_out: CloseOut | None,
    at: datetime,
) -> tuple[RecordSignature, ...]:
    """Releases, variances, what ended them, and the close-out, until a moment.

    ``standings`` are by the ids of releases; one that has none there is over or was taken back.
    """
    found = [one for release in releases for one in _of_release(release, standings.get(release.pk))]
    found += [one for variance in variances for one in _of_variance(variance)]
    if close_out is not None:
        says = (close_out.remarks,) if close_out.remarks else ()
        found.append(
            RecordSignature("Close-out", close_out.closed_by_name, close_out.closed_at, says, "", "")
        )
    return tuple(
        sorted((one for one in found if one.signed_at <= at), key=lambda one: (one.signed_at, one.what))
    )


def _of_release(release: Release, standing: Standing | None) -> list[RecordSignature]:
    count = len(release.document.get("crossings", ()))
    held = [one["code"] for one in release.document.get("checks", ()) if one.get("holds")]
    says = (
        f"For {release.crew} with {release.rig}.",
        f"On {count} {'crossing' if count == 1 else 'crossings'}; checks that held then: "
        f"{', '.join(held) if held else 'none'}.",
        *_settled(release),
    )
    found = [
        RecordSignature(
            "Release",
            release.signed_by_name,
            release.signed_at,
            says,
            release.grounds_digest,
            _standing_words(standing),
            shift_from=release.shift_from,
            shift_until=release.shift_until,
        )
    ]
    if hasattr(release, "withdrawal"):
        end = release.withdrawal
        found.append(
            RecordSignature(
                "Withdrawal of a release",
                end.withdrawn_by_name,
                end.withdrawn_at,
                (end.reason,),
                release.grounds_digest,
                "",
            )
        )
    return found


def _standing_words(standing: Standing | None) -> str:
    if standing is None:
        return ""
    state = standing.state.replace("_", " ").capitalize()
    return " ".join((f"{state} as of this record.", *standing.reasons))


def _settled(release: Release) -> list[str]:
    """What was settled of the damage that had been reported, where that was asked."""
    count = len(release.damage_answered or ())
    reports = f"{count} report{'' if count == 1 else 's'}"
    return [f"Settled of {reports} of damage or a near miss: {release.damage_settled}"] if count else []


def _of_variance(variance: Variance) -> list[RecordSignature]:
    found = []
    if hasattr(variance, "signature"):
        signed = variance.signature
        says = (subject_words(variance), variance.reason)
        found.append(RecordSignature("Variance", signed.signed_by_name, signed.signed_at, says, "", ""))
    if hasattr(variance, "end"):
        end = variance.end
        says = (subject_words(variance), end.reason)
        found.append(RecordSignature("End of a variance", end.ended_by_name, end.ended_at, says, "", ""))
    return found
