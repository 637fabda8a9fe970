"""May this bore be drilled? The one answer that every page gives."""

from dataclasses import dataclass

from conflicts.answering_release import answering_releases
from conflicts.checks import Assessed
from conflicts.drilled_stops import drilled_stops
from conflicts.models import Bore, CloseOut, Release
from conflicts.passed_unwatched import passed_unwatched
from conflicts.release import ReleaseState, Standing
from conflicts.watch_table import WatchTable


@dataclass(frozen=True)
class DrillAnswer:
    """The release that answers for a bore with how it stands now, and its close-out, or None.

    ``is_stopped`` where a watch or the rods in the ground set off a stop that still stands; ``drilled_stops``
    are those of the rods, in words. ``unwatched`` tells of lines that the head is past with no watch.
    """

    release: Release | None
    standing: Standing | None
    close_out: CloseOut | None
    is_stopped: bool
    drilled_stops: tuple[str, ...]
    unwatched: str

    @property
    def is_released(self) -> bool:
        """Whether a release has not come to its end, and the bore is not closed out; a stop may stand."""
        return self.close_out is None and self.standing is not None and self.standing.is_underway

    @property
    def is_ahead(self) -> bool:
        """Whether the release is signed for a shift that has not begun."""
        return (
            self.close_out is None
            and self.standing is not None
            and self.standing.state is ReleaseState.NOT_YET
        )

    @property
    def is_yes(self) -> bool:
        """Whether a release in force says so; none is where a stop rule stands."""
        return self.is_released and self.standing.is_in_force and not self.is_stopped


def drill_answer(bore: Bore, table: WatchTable, assessed: Assessed) -> DrillAnswer:
    """The answer for a bore at this moment, computed from the records as they are, beside its watches."""
    release, standing = answering_releases([bore.pk]).get(bore.pk, (None, None))
    close_out = CloseOut.objects.filter(bore=bore).first()
    drilled: tuple[str, ...] = ()
    unwatched = ""
    if close_out is None:
        drilled = drilled_stops(assessed, assessed.site.log)
        unwatched = passed_unwatched(assessed, table)
    return DrillAnswer(release, standing, close_out, bool(table.stopped or drilled), drilled, unwatched)
