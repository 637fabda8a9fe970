"""May this bore be drilled? The one answer that every page gives."""

from dataclasses import dataclass

from conflicts.models import Bore, CloseOut, Release
from conflicts.release import Standing, newest_releases, standing_of


@dataclass(frozen=True)
class DrillAnswer:
    """The last release of a bore with how it stands now, and its close-out; None where there is none."""

    release: Release | None
    standing: Standing | None
    close_out: CloseOut | None

    @property
    def is_yes(self) -> bool:
        """Whether a release in force says so, and the bore is not closed out."""
        return self.close_out is None and self.standing is not None and self.standing.is_in_force


def drill_answer(bore: Bore) -> DrillAnswer:
    """The answer for a bore at this moment, computed from the records as they are."""
    release = newest_releases([bore.pk]).get(bore.pk)
    standing = None if release is None else standing_of(release)
    return DrillAnswer(release, standing, CloseOut.objects.filter(bore=bore).first())
