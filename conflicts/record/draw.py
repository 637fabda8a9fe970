"""The clearance record of a bore from the records that it rests on: its pictures, figures and words.

No clock, no chance and no database: the same records give the same clearance record.
"""

from typing import Any

from conflicts.checks import Assessed
from conflicts.drawing.on_paper import on_paper
from conflicts.drawing.plan import draw_plan
from conflicts.drawing.profile import draw_profile
from conflicts.drilled_beside import drilled_beside
from conflicts.drilled_stops import drilled_stops
from conflicts.found_since import found_since
from conflicts.models import Bore
from conflicts.record.drilled import drilled_of
from conflicts.record.passes import passes_of
from conflicts.record.read import KeptRecords
from conflicts.record.read_crossings import crossings_of
from conflicts.record.read_signed import Signed
from conflicts.record.sheet import (
    ClearanceRecord,
    Picture,
    RecordBore,
    RecordCheck,
    RecordJob,
    RecordVerdict,
)
from conflicts.release import Standing
from conflicts.templatetags.checks import check_title
from conflicts.views.facility_words import FACILITY_WORDS
from conflicts.watch_table import stop_words
from locates.models import Job


def draw_record(kept: KeptRecords) -> ClearanceRecord:
    """The clearance record that kept records make."""
    bore, assessed, members, signed = kept.bore, kept.assessed, kept.members, kept.signed
    plan = draw_plan(assessed.scene, assessed.crossings, FACILITY_WORDS)
    profile = draw_profile(assessed.scene, assessed.crossings, FACILITY_WORDS)
    beside = drilled_beside(assessed.scene, kept.rods)
    return ClearanceRecord(
        as_of=kept.at,
        job=_job(bore.job, assessed),
        bore=_bore(bore, members),
        verdict=_verdict(members, signed, kept.standing, _stops(kept), found_since(assessed)),
        assessment_digest=members["inputs_digest"],
        checks=tuple(
            RecordCheck(check_title(one["code"]), one["holds"], one["sentence"]) for one in members["checks"]
        ),
        coverage_gaps_m=tuple((gap["from_m"], gap["to_m"]) for gap in members["coverage_gaps"]),
        signatures=signed.signatures,
        not_borne_out=kept.not_borne_out,
        plan=Picture(on_paper(plan.svg), plan.words),
        profile=Picture(on_paper(profile.svg), profile_words(members, profile.exaggeration)),
        drilled=drilled_of(assessed, beside),
        passes=passes_of(assessed.scene),
        crossings=crossings_of(
            assessed, members["crossings"], kept.lines, signed.by_crossing, beside.drilled
        ),
        gone=signed.gone,
        drilled_alone=signed.drilled_alone,
        tickets=kept.tickets,
        variances=signed.variances,
        walks=signed.walks,
        lost_watches=signed.lost_watches,
        damage=signed.damage,
        photos=signed.photos,
        chain=signed.chain,
    )


def profile_words(members: dict[str, Any], exaggeration: int) -> str:
    """What the profile shows, for who does not see it."""
    count = len(members["crossings"])
    larger = "as large as" if exaggeration == 1 else f"{exaggeration} times as large as"
    return (
        f"Profile of {members['bore']} from the entry to the exit: ground, finished hole and the "
        f"{count} {'crossing at its station' if count == 1 else 'crossings at their stations'}, heights "
        f"drawn {larger} lengths. Every figure of it stands in the table of crossings."
    )


def _job(job: Job, assessed: Assessed) -> RecordJob:
    inputs, rule = assessed.scene.inputs.job, job.jurisdiction
    return RecordJob(
        name=job.name,
        organisation=job.organisation.name,
        time_zone=job.time_zone,
        show_units=job.show_units,
        datum=job.datum,
        rule=str(rule),
        rule_citation=rule.citation,
        rule_checked_on=rule.checked_on.isoformat(),
        tolerance_zone_m=inputs.tolerance_zone_m,
        reach_m=inputs.reach_m,
        spacing_m=inputs.spacing_m,
        bore_horizontal_m=inputs.bore_horizontal_m,
        bore_vertical_m=inputs.bore_vertical_m,
        test_hole_m=inputs.test_hole_m,
        slope_ratio=inputs.slope_ratio,
    )


def _bore(bore: Bore, members: dict[str, Any]) -> RecordBore:
    return RecordBore(
        name=bore.name,
        length_m=members["length_m"],
        final_diameter_m=bore.final_diameter_m,
        pilot_diameter_m=bore.pilot_diameter_m,
        product=bore.product,
        planned_start_at=bore.planned_start_at,
        planned_finish_at=bore.planned_finish_at,
    )


def _stops(kept: KeptRecords) -> tuple[str, ...]:
    """What stops the crew, as the bore's page has it: by a watch, and until the close-out by the rods."""
    of_rods = () if kept.signed.closed_out else drilled_stops(kept.assessed, kept.assessed.site.log)
    return (*stop_words(kept.assessed), *of_rods)


def _verdict(
    members: dict[str, Any],
    signed: Signed,
    standing: Standing | None,
    stops: tuple[str, ...],
    found: tuple[str, ...],
) -> RecordVerdict:
    """What the cover says, as the bore's page does: drilled, stopped, released, or what stands against it."""
    held = [check_title(one["code"]) for one in members["checks"] if one["holds"]]
    count = len(members["checks"])
    verb = "holds" if len(held) == 1 else "hold"
    holding = f"{len(held)} of {count} checks {verb}: {', '.join(held)}."
    passed = f"All {count} checks pass as of this record."
    if signed.closed_out:
        now = holding if held else passed
        if stops or found:
            since = "a stop was set off since" if stops else "what was found since speaks against it"
            because = (signed.closed_out, *stops, *found, now)
            return RecordVerdict(f"Drilled and closed out; {since}", stops=True, because=because)
        return RecordVerdict("Drilled and closed out", stops=False, because=(signed.closed_out, now))
    if stops:
        return RecordVerdict(
            "Stopped: do not drill", stops=True, because=(*stops, holding if held else passed)
        )
    if standing is not None and standing.is_in_force:
        return RecordVerdict(
            "Released", stops=False, because=(*standing.reasons, holding if held else passed)
        )
    why = ("No release is signed.",) if standing is None else standing.reasons
    if held:
        return RecordVerdict("Not released: do not drill", stops=True, because=(holding, *why))
    return RecordVerdict("Not released", stops=True, because=(*why, passed))
