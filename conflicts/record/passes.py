"""What the clearance record says of the passes after the pilot: how wide they left the hole, and the log."""

from dataclasses import dataclass
from datetime import datetime

from conflicts.hole_passes import PassInput, WithdrawnPass
from conflicts.passes_sheet import shown_stretches
from conflicts.scene import Scene


@dataclass(frozen=True)
class RecordStretch:
    """How wide the hole is from one station to another, and where that is from."""

    from_m: float
    to_m: float
    diameter_m: float
    because: str


@dataclass(frozen=True)
class RecordPass:
    """A reamer or a pullback as it was logged; without stations where it went through the whole bore.

    ``withdrawn`` says who found the entry wrong, when and why; empty where it counts.
    """

    kind: str
    diameter_m: float
    conduits: tuple[tuple[int, float], ...]
    circle_words: str
    direction: str
    from_m: float | None
    to_m: float | None
    made_at: datetime
    ended_at: datetime | None
    logged_at: datetime
    logged_by: str
    remarks: str
    confirmed: tuple[str, ...]
    withdrawn: tuple[str, datetime, str] | None = None


@dataclass(frozen=True)
class RecordPasses:
    """The hole as the passes left it, and every pass that was ever logged, in order of time."""

    stretches: tuple[RecordStretch, ...]
    passes: tuple[RecordPass, ...]
    withdrawn: tuple[RecordPass, ...]


def passes_of(scene: Scene) -> RecordPasses | None:
    """What is said of a bore's passes; None where none was ever logged.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    """
    log = scene.inputs.site.passes
    if not (log.passes or log.withdrawn):
        return None
    return RecordPasses(
        stretches=tuple(
            RecordStretch(one.from_m, one.to_m, one.diameter_m, one.because) for one in shown_stretches(scene)
        ),
        passes=tuple(_pass(one) for one in log.passes),
        withdrawn=tuple(_withdrawn(one) for one in log.withdrawn),
    )


def _pass(one: PassInput, withdrawn: tuple[str, datetime, str] | None = None) -> RecordPass:
    return RecordPass(
        kind=one.kind,
        diameter_m=one.diameter_m,
        conduits=one.conduits,
        circle_words=one.circle_words,
        direction={"to_rig": "towards the rig", "from_rig": "away from the rig"}.get(one.direction, ""),
        from_m=one.from_m,
        to_m=one.to_m,
        made_at=one.made_at,
        ended_at=one.ended_at,
        logged_at=one.logged_at,
        logged_by=one.logged_by,
        remarks=one.remarks,
        confirmed=one.confirmed,
        withdrawn=withdrawn,
    )


def _withdrawn(one: WithdrawnPass) -> RecordPass:
    return _pass(one.entry, (one.withdrawn_by, one.withdrawn_at, one.reason))
