"""Refuse a plan by which rods that were drilled, or what was reamed, would lie elsewhere than they do."""

from django.core.exceptions import ValidationError

from conflicts.engine.errors import EngineError
from conflicts.gather import inputs_of
from conflicts.gather_passes import gather_passes
from conflicts.gather_rods import gather_rods
from conflicts.inputs import BoreInputs
from conflicts.models import Bore, CloseOut
from conflicts.moved_ground import Moved, moved_by_plan
from locates.units import format_length

ACCEPTED = (
    "Accepted is a plan that leaves all of it there: with the same entry, the same height at the entry and "
    "the same alignment as far as the hole goes. Else retire this bore, which keeps its record, and plan "
    "another."
)
PLAN_COLUMNS = (
    "alignment",
    "ground_stations_m",
    "ground_elevations_m",
    "profile_by",
    "profile_stations_m",
    "profile_values_m",
    "rods_entry_elevation_m",
    "rod_lengths_m",
    "rod_pitches_ratio",
    "rod_headings_rad",
)


def hold_ground(bore: Bore) -> None:
    """Let a stored bore be saved only where what is in the ground stays where it is.

    Places of rods and passes follow from the plan, so another entry, start or alignment would move them.
    Every way in comes through here, for `Bore.save` asks; whoever saves holds the job, as whoever logs a rod
    or a pass does.

    Raises
    ------
    ValidationError
        In words: what would move and how far, or that the bore is closed out, and what is accepted.
    """
    stored = Bore.with_retired.select_related("job__jurisdiction").filter(pk=bore.pk).first()
    if stored is None or all(getattr(stored, name) == getattr(bore, name) for name in PLAN_COLUMNS):
        return
    before = inputs_of([stored])[bore.pk]
    if CloseOut.objects.filter(bore=bore.pk).exists() and _plan(before) != _plan(inputs_of([bore])[bore.pk]):
        raise ValidationError(
            f"{stored} is closed out: it was drilled by the plan that it has. Accepted are changes that "
            "leave its alignment, its profile and its rods as they are; another hole is another bore."
        )
    log, passes = gather_rods([stored])[bore.pk], gather_passes([stored])[bore.pk]
    if not (log.rods or log.legs or passes.passes):
        return
    try:
        moved = moved_by_plan(before, inputs_of([bore])[bore.pk], log, passes)
    except EngineError as error:
        raise ValidationError(
            f"Something is in the ground, and no path follows from this plan: {error}"
        ) from error
    if moved is not None:
        raise ValidationError(_words(stored, moved))


def _plan(inputs: BoreInputs) -> tuple:
    return inputs.alignment, inputs.profile_by, inputs.profile, inputs.rods


def _words(bore: Bore, moved: Moved) -> str:
    by = format_length(moved.by_m, bore.job.show_units, "up")
    return (
        f"Nothing is stored: by this plan {moved.what} would lie {by} from where it lies in the ground. "
        f"{ACCEPTED}"
    )
