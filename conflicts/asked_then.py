"""What was asked of a drilled hole when it came past a line of which the records ask less since."""

from dataclasses import dataclass

from conflicts.crossings import FoundCrossing
from conflicts.faults import Fault
from conflicts.rests_on import record_key
from conflicts.rod_log import MetLine
from locates.line_words import LINE_WORDS
from locates.units import format_length


@dataclass(frozen=True, eq=False)
class AskedThen:
    """A line as the entry of a rod names it, and the hole's crossing of it as it is judged now."""

    line: MetLine
    by_now: FoundCrossing

    @property
    def required_now_m(self) -> float:
        """Separation that is asked for of the line as it is recorded now."""
        return self.by_now.required_m

    def words(self, units: str) -> str:
        """Both figures, and both types where there are two; a clause without a stop at its end.

        Parameters
        ----------
        units : {"feet", "metric"}
        """
        then, now = (format_length(one, units, "up") for one in (self.line.required_m, self.required_now_m))
        was, is_now = (LINE_WORDS[one] for one in (self.line.facility_type, self.by_now.mark.facility_type))
        if was == is_now:
            return f"{then} was required when it was drilled past, {now} is since"
        called = f"it is called {is_now} since, {now} required"
        return f"{then} was required when it was drilled past as {was}; {called}"

    def fault(self, units: str) -> Fault:
        """What whoever signs for the hole is told of, and what no variance without it excuses.

        Parameters
        ----------
        units : {"feet", "metric"}
        """
        told = (self.line.mark_id, self.line.facility_type, self.line.required_m)
        return Fault(f"then {record_key(told)}", f"{self.line.mark_ref}: {self.words(units)}.")
