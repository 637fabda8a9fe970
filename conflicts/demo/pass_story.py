"""The reamer and the conduit of the finished job, as the crew logged them after its pilot."""

from dataclasses import replace
from datetime import datetime

from conflicts.demo.people import DemoPeople
from conflicts.desk.log_rod import scene_of
from conflicts.gather_passes import pass_input
from conflicts.hole_passes import PassLog
from conflicts.models import Bore, HolePass, HolePassKind, PassDirection
from conflicts.models.signed import name_of
from conflicts.pass_questions import pass_questions
from locates.units import METRES_PER_INCH

REAMER_M = 6.0 * METRES_PER_INCH
CONDUIT_M = 0.11


def passes_of_hole(
    bore: Bore, people: DemoPeople, reamed: tuple[datetime, datetime], pulled: tuple[datetime, datetime]
) -> list[HolePass]:
    """The two passes, not stored yet, each from its begin until it was logged; what was asked was kept."""
    told = {"bore": bore, "logged_by": people.foreman, "logged_by_name": name_of(people.foreman)}
    reaming = HolePass(
        kind=HolePassKind.REAMING,
        diameter_m=REAMER_M,
        direction=PassDirection.TO_RIG,
        made_at=reamed[0],
        ended_at=reamed[1],
        logged_at=reamed[1],
        remarks="Returns at both ends all the way.",
        **told,
    )
    pullback = HolePass(
        kind=HolePassKind.PULLBACK,
        diameter_m=CONDUIT_M,
        conduits=[[1, CONDUIT_M]],
        direction=PassDirection.TO_RIG,
        made_at=pulled[0],
        ended_at=pulled[1],
        logged_at=pulled[1],
        remarks="The bore is short and the pull stayed low.",
        **told,
    )
    computed = scene_of(bore)
    site = replace(computed.scene.inputs.site, passes=PassLog((pass_input(reaming),)))
    scene = replace(computed.scene, inputs=replace(computed.scene.inputs, site=site))
    asked = pass_questions(scene, computed.crossings, bore.pilot_diameter_m, pass_input(pullback))
    pullback.confirmed = [{"code": str(one.code), "sentence": one.sentence} for one in asked]
    return [reaming, pullback]
