"""What can be refused about a release, as data; each error words itself once, in its ``str``."""

from collections.abc import Sequence

from conflicts.oddity import Oddity


class ConflictsError(Exception):
    """Root of everything that this package refuses outside of its engine."""


class ReleaseHeldError(ConflictsError):
    """A bore that cannot be released: ``sentences`` say what holds it."""

    def __init__(self, sentences: Sequence[str]) -> None:
        super().__init__(sentences)
        self.sentences = list(sentences)

    def __str__(self) -> str:
        return " ".join(self.sentences)


class DamageOpenError(ConflictsError):
    """A release that does not say what was settled of ``reports``, so many reports of damage."""

    def __init__(self, reports: int) -> None:
        super().__init__(reports)
        self.reports = reports

    def __str__(self) -> str:
        found = "a report" if self.reports == 1 else f"{self.reports} reports"
        return f"No release answers {found} of damage or a near miss yet: say in words what was settled."


class ShiftError(ConflictsError, ValueError):
    """A shift that no release can be for."""

    def __init__(self, found: str, accepted: str) -> None:
        super().__init__(found, accepted)
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        return f"{self.found[:1].upper()}{self.found[1:]}; accepted is {self.accepted}."


class GroundsChangedError(ConflictsError):
    """Records that changed between their showing and the signature."""

    def __str__(self) -> str:
        return "The records have changed since they were shown. Look at them again below, then sign."


class NothingShownError(ConflictsError, ValueError):
    """A form that does not say what its page showed: which field, and what it held."""

    def __init__(self, field: str, found: str) -> None:
        super().__init__(field, found)
        self.field = field
        self.found = found

    def __str__(self) -> str:
        found = f"“{self.found}”" if self.found else "nothing"
        return (
            f"The form does not say what its page showed: its hidden field “{self.field}” holds {found}; "
            "accepted is what the page puts there. Look at what is shown now, then sign."
        )


class WatchError(ConflictsError, ValueError):
    """A watch of a crossing that is no longer there: why, as a sentence."""


class VarianceError(ConflictsError, ValueError):
    """A variance that cannot be asked for, signed or ended: why, as a sentence."""


class IncompleteRecordError(ConflictsError):
    """A clearance record that would lack something; ``faults`` are the renderer's own words."""

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__(faults)
        self.faults = list(faults)

    def __str__(self) -> str:
        return "; ".join(self.faults)


class AskedError(ConflictsError):
    """Figures that are asked about before they are kept: ``oddities``, each with its sentence."""

    def __init__(self, oddities: Sequence[Oddity]) -> None:
        super().__init__(oddities)
        self.oddities = list(oddities)

    def __str__(self) -> str:
        return " ".join(one.sentence for one in self.oddities)


class RodAskedError(AskedError):
    """A rod whose readings do not fit the rod before it."""


class WatchAskedError(AskedError):
    """A watch whose figures the records do not allow."""


class PassAskedError(AskedError):
    """A pass whose size does not fit the plan or the passes before."""


class PassError(ConflictsError, ValueError):
    """A pass, or a withdrawal of one, that cannot be: why, as a sentence."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence

    def __str__(self) -> str:
        return self.sentence


class RodPlaceError(ConflictsError, ValueError):
    """A rod or a withdrawal that was sent of a log that has gone on since: why, as a sentence."""
