"""What the design says of a small site, worked out from plain values: nothing of the program is asked.

One bore passes straight under or over one gas line of 0.1 m across, at one test hole. The figures are so far
apart that no error of a position, whatever shares of it count, brings a verdict near to another.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("America/New_York")
LINE_RADIUS_M, BORE_RADIUS_M = 0.05, 0.1
NEVER_WAIVED = {"tickets", "responses", "duties"}
WAIVABLE = ("surface", "profile", "day", "watch_holes")
CODES = ("tickets", "responses", "crossings", "surface", "profile", "day", "watch_holes", "duties")
EXCUSABLE = {"unexposed", "stale", "short"}


@dataclass
class Walk:
    """A walk, and whether it answered yes to all."""

    at: datetime
    all_well: bool


@dataclass
class Watch:
    """One pass seen at the crossing or not, and whether it set off a stop rule."""

    key: str
    pass_made: str
    at: datetime
    seen: bool
    stops: bool


@dataclass
class Excuse:
    """A signed variance, with what stood when it was signed; ``what`` is a check, "crossing" or a pass."""

    what: str
    valid_from: datetime
    until: datetime
    stood: object

    def is_in_force(self, at: datetime) -> bool:
        """Whether its time has come and is not over."""
        return self.valid_from <= at < self.until


@dataclass
class Signed:
    """A release as it was signed."""

    signed_at: datetime
    shift_from: datetime
    shift_until: datetime
    is_changed: bool = False
    is_withdrawn: bool = False


@dataclass
class Site:
    """The records of the site as people know them."""

    legal_start_at: datetime
    expires_at: datetime
    finish_at: datetime
    measured_at: datetime
    boring_declared: bool = True
    answer: str = "marked"
    has_mark: bool = True
    mark_east_m: float = 50.0
    is_intact: bool = True
    re_marked_at: datetime | None = None
    has_hole: bool = True
    is_open: bool | None = True
    top_m: float = 0.9
    dug_m: float = 3.0
    depth_m: float = 2.6
    cover_m: float | None = 0.9
    required_m: float = 0.305
    walks: list[Walk] = field(default_factory=list)
    watches: list[Watch] = field(default_factory=list)
    excuses: dict[object, Excuse] = field(default_factory=dict)
    releases: dict[object, Signed] = field(default_factory=dict)

    @property
    def plan(self) -> tuple[object, ...]:
        """The bore as it is planned."""
        return ("plan", self.depth_m)

    @property
    def mark(self) -> tuple[object, ...]:
        """The mark as it is recorded."""
        return ("mark", self.mark_east_m, self.is_intact, self.re_marked_at)

    @property
    def hole(self) -> tuple[object, ...]:
        """The test hole as it is recorded."""
        return ("hole", self.measured_at, self.is_open, self.top_m)

    def verdict(self) -> str | None:
        """Of the one crossing; None where no line is marked. The first of the design's table that fits."""
        if not self.has_mark:
            return None
        apart_m = abs(self.depth_m - self.top_m - LINE_RADIUS_M) - LINE_RADIUS_M - BORE_RADIUS_M
        if self.has_hole and apart_m < 0.0:
            return "overlap"
        if not self.has_hole:
            return "unexposed"
        if not self.is_intact or (self.re_marked_at is not None and self.re_marked_at > self.measured_at):
            return "stale"
        return "short" if self.required_m > apart_m else "clear"

    def faults(self, code: str, at: datetime) -> frozenset[object]:
        """All for which a check holds at a moment, each with the values that tell it from another."""
        return frozenset(getattr(self, f"_{code}")(at))

    def _is_ticket_in_force(self, at: datetime) -> bool:
        lasts = self.legal_start_at <= at < self.expires_at
        return lasts and max(at, self.finish_at) <= self.expires_at

    def _tickets(self, at: datetime) -> list[object]:
        return [] if self._is_ticket_in_force(at) and self.finish_at >= at else ["tickets"]

    def _responses(self, at: datetime) -> list[object]:
        agrees = {"marked": self.has_mark, "no_facilities": not self.has_mark}.get(self.answer, False)
        return [] if self._is_ticket_in_force(at) and agrees else ["responses"]

    def _surface(self, at: datetime) -> list[object]:
        if not self.has_mark:
            unmarked = [("unmarked", self.hole)] if self.has_hole else []
            return ["nothing explains the valve", *unmarked]
        beside = [("beside", self.hole, self.mark_east_m)] if self.mark_east_m != 50.0 else []
        later = [("later", self.measured_at)] if self.measured_at > at else []
        return beside + later if self.has_hole else []

    def _profile(self, at: datetime) -> list[object]:
        if self.cover_m is None:
            return ["cover not recorded"]
        return [("cover", self.cover_m)] if self.depth_m - BORE_RADIUS_M < self.cover_m else []

    def _day(self, at: datetime) -> list[object]:
        of_today = [one for one in self.walks if one.at <= at and local_day(one.at) == local_day(at)]
        if not of_today:
            return [("nobody walked", local_day(at))]
        return [] if max(of_today, key=lambda one: one.at).all_well else ["a walk that answers no"]

    def _watch_holes(self, at: datetime) -> list[object]:
        if not self.has_mark or (self.has_hole and self.is_open):
            return []
        return [("hole", self.hole if self.has_hole else None, self.mark)]

    def _duties(self, at: datetime) -> list[object]:
        declared = self._is_ticket_in_force(at) and self.boring_declared
        return [] if declared and self.verdict() != "unexposed" else ["duties"]

    def stood(self, what: str, at: datetime) -> object:
        """What a variance that is signed at a moment is bound to; None excuses nothing."""
        if what in WAIVABLE:
            faults = self.faults(what, at)
            return faults | {self.plan} if faults and what != "day" else faults
        if what == "crossing":
            return self._crossing() if self.has_mark else None
        stopping = frozenset(one.key for one in self._stopping(what, at))
        return stopping if self.has_mark or stopping else None

    def _crossing(self) -> tuple[object, ...]:
        """Verdict, records, and the figures that are the worse the greater they are."""
        return self.verdict(), self.mark, self.plan, self.top_m if self.has_hole else 0.0, self.required_m

    def is_crossing_excused(self, at: datetime) -> bool:
        """Whether a variance in force knew of the crossing as it is, or worse."""
        verdict, mark, plan, *now = self._crossing()
        for one in self.excuses.values():
            if one.what != "crossing" or one.stood is None or not one.is_in_force(at):
                continue
            *same, top_m, required_m = one.stood
            if same == [verdict, mark, plan] and now[0] <= top_m and now[1] <= required_m:
                return verdict in EXCUSABLE
        return False

    def is_check_excused(self, code: str, at: datetime) -> bool:
        """Whether a variance in force knew of all for which the check holds."""
        now = set(self.faults(code, at))
        if code in NEVER_WAIVED or (code == "day" and "a walk that answers no" in now):
            return False
        now |= set() if code == "day" else {self.plan}
        return any(
            one.what == code and one.is_in_force(at) and now <= set(one.stood)
            for one in self.excuses.values()
        )

    def holding(self, at: datetime) -> set[str]:
        """The checks that stop a release at a moment."""
        held = {code for code in CODES if code != "crossings" and self.faults(code, at)}
        held = {code for code in held if not self.is_check_excused(code, at)}
        if self.verdict() is None:
            return held | ({"crossings"} if self.faults("responses", at) else set())
        is_good = self.verdict() == "clear" or self.is_crossing_excused(at)
        return held if is_good else held | {"crossings"}

    def _stopping(self, pass_made: str, at: datetime) -> list[Watch]:
        """The watches of a pass of which a stop rule stands: none before it was last seen."""
        found: list[Watch] = []
        for one in sorted(self.watches, key=lambda one: one.at):
            if one.pass_made == pass_made and one.at <= at:
                found = [] if one.seen else found
                found += [one] if one.stops else []
        return found

    def is_stopped(self, at: datetime) -> bool:
        """Whether a stop stands that nobody settled, and that no variance for its pass was signed about."""
        for pass_made in ("pilot", "reaming", "pullback"):
            stops = [{one.key} for one in self._stopping(pass_made, at)]
            # At a crossing that is there a variance has to know of all its stops, else of each.
            together = [set().union(*stops)] if stops and self.has_mark else stops
            known = [
                one.stood
                for one in self.excuses.values()
                if one.what == pass_made and one.stood is not None and one.is_in_force(at)
            ]
            if any(not any(keys <= stood for stood in known) for keys in together):
                return True
        return False

    def change(self) -> None:
        """Every release that was signed before has come to its end, whatever is changed back."""
        for one in self.releases.values():
            one.is_changed = True

    def is_in_force(self, release: Signed, at: datetime) -> bool:
        """Whether a release says yes at a moment."""
        return (
            not release.is_changed
            and not release.is_withdrawn
            and release.signed_at <= at
            and release.shift_from <= at < release.shift_until
            and local_day(at) == local_day(release.signed_at)
            and not self.holding(at)
            and not self.is_stopped(at)
        )


def local_day(at: datetime) -> date:
    """The day of a moment where the site is."""
    return at.astimezone(ZONE).date()


def midnight_after(at: datetime) -> datetime:
    """The first moment of the next day where the site is."""
    day = local_day(at) + timedelta(days=1)
    return datetime(day.year, day.month, day.day, tzinfo=ZONE)
