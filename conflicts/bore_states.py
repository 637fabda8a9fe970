"""What may be shown of bores: their assessment while the stored figures are current, else no figure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from conflicts.assess import document
from conflicts.checks import Assessed
from conflicts.engine.errors import EngineError
from conflicts.found_outdated import tell_workers
from conflicts.found_since import found_since
from conflicts.gather import UnassessableError, gather
from conflicts.inputs import BoreInputs
from conflicts.models import Assessment, Bore, Reassessment
from conflicts.models.reassessment import STATES_TO_WORK_ON
from conflicts.recently_computed import computed
from conflicts.watch_table import stop_words
from locates.units import format_length


@dataclass(frozen=True, slots=True)
class BoreState:
    """A bore, its assessment and the document of it, or why there is none.

    Without a document it is being recalculated, or ``refusal`` says why it cannot be computed.
    """

    bore: Bore
    document: dict[str, Any] | None = None
    assessed: Assessed | None = None
    assessed_at: datetime | None = None
    refusal: str = ""

    @property
    def hole_words(self) -> str:
        """What was made of the hole after its pilot, and how wide it was reamed; empty without a pass."""
        if self.assessed is None or not self.assessed.site.passes.state:
            return ""
        scene, log = self.assessed.scene, self.assessed.site.passes
        units = scene.inputs.job.show_units
        reamed_m = log.reamed_m(0.0, scene.path.length_m)
        reamed = "" if reamed_m is None else f"reamed {format_length(reamed_m, units)}"
        pulled = "pulled back" if log.is_finished else ""
        return ", ".join(one for one in (reamed, pulled) if one)

    @property
    def since_closed(self) -> tuple[str, ...]:
        """What speaks against a close-out since it was signed, in sentences; none without figures."""
        if self.assessed is None or self.assessed.site.closed_out_at is None:
            return ()
        return (*stop_words(self.assessed), *found_since(self.assessed))

    @property
    def is_settled(self) -> bool:
        """Whether waiting would change nothing."""
        return self.document is not None or bool(self.refusal)


def bore_states(bores: Iterable[Bore], at: datetime) -> list[BoreState]:
    """States of bores at a moment, in their order, from one reading of the records.

    Of a bore whose stored figures are not of its present inputs the workers are told, unless it waits already
    or was tried in vain; nothing is written.
    """
    wanted = list(bores)
    inputs, failures = _read(wanted)
    current = {
        one.bore_id: one
        for one in Assessment.objects.filter(bore__in=inputs)
        if one.inputs_digest == inputs[one.bore_id].digest()
    }
    outdated = inputs.keys() - current.keys()
    rows = list(Reassessment.objects.filter(bore__in=outdated).values_list("bore", "state", "failure"))
    failures |= {bore_id: failure for bore_id, state, failure in rows if state not in STATES_TO_WORK_ON}
    tell_workers(outdated - {bore_id for bore_id, _, _ in rows})
    return [_state(bore, inputs, current, failures, at) for bore in wanted]


def computed_states(bores: Iterable[Bore], at: datetime) -> list[BoreState]:
    """States of bores computed from one reading of the records: nothing stored counts, no worker is told."""
    wanted = list(bores)
    inputs, failures = _read(wanted)
    return [_computed_state(bore, inputs.get(bore.pk), failures.get(bore.pk, ""), at) for bore in wanted]


def bore_state(bore: Bore, at: datetime) -> BoreState:
    """State of one bore at a moment."""
    return bore_states([bore], at)[0]


def _state(
    bore: Bore,
    inputs: dict[UUID, BoreInputs],
    current: dict[UUID, Assessment],
    failures: dict[UUID, str],
    at: datetime,
) -> BoreState:
    if bore.pk in current:
        assessed = computed(inputs[bore.pk]).at(at, inputs[bore.pk].site)
        return BoreState(bore, document(assessed), assessed, current[bore.pk].assessed_at)
    return BoreState(bore, refusal=failures.get(bore.pk, ""))


def _computed_state(bore: Bore, inputs: BoreInputs | None, failure: str, at: datetime) -> BoreState:
    if inputs is None:
        return BoreState(bore, refusal=failure)
    try:
        assessed = computed(inputs).at(at, inputs.site)
    except EngineError as error:
        return BoreState(bore, refusal=str(error))
    return BoreState(bore, document(assessed), assessed)


def _read(bores: Sequence[Bore]) -> tuple[dict[UUID, BoreInputs], dict[UUID, str]]:
    """Inputs of bores, and why there are none for those of a job that lacks something."""
    try:
        return gather([bore.pk for bore in bores]), {}
    except UnassessableError as error:
        if len({bore.job_id for bore in bores}) == 1:
            return {}, {bore.pk: str(error) for bore in bores}
    # One job alone is at fault: read job by job, so that the others show.
    inputs: dict[UUID, BoreInputs] = {}
    failures: dict[UUID, str] = {}
    for job_id in {bore.job_id for bore in bores}:
        own, failed = _read([bore for bore in bores if bore.job_id == job_id])
        inputs |= own
        failures |= failed
    return inputs, failures
