"""One pass of one crossing: what was watched of it, and what of that stands in the way."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from conflicts.faults import Fault
from conflicts.hole_passes import PassInput
from conflicts.pull_backs import PulledBack
from conflicts.site_records import VarianceInput, WatchInput
from conflicts.stop_rules import (
    StopRule,
    bottom_fault,
    bottom_fault_key,
    bottom_is_unknown,
    is_shallower,
    shallower_key,
    since_words,
    stop_fault,
    stops_of_watch,
)
from locates.local_time import format_moment
from locates.units import format_length


@dataclass(frozen=True)
class PassWatched:
    """One pass of one crossing: its watches in order of time, those that stop it, the variance for it.

    A watch that set off a stop rule stops the pass until a later one saw it go by with nothing wrong; one
    that saw nothing settles nothing. ``overtaken_by`` is the watch of a pass before this one that came after
    this one was last seen: the passes are made in their order. A depth of the head that was read when it was
    last seen proves nothing where nobody recorded how deep the hole is. ``made_anew`` is the last logged pass
    of its kind, where that was made after it was last watched: another reamer went by. ``pulled_back`` is
    the last pull-back that reached the crossing and after which it was not watched once a rod was joined in
    place of those: it was another hole, or none.
    Both also where nobody watched it, so that no variance for it excuses what is made after the signature.
    ``unreleased_until`` is when a release first stood, where it was last seen before that.
    A variance excuses what its signer was told of.
    """

    pass_made: str
    watches: tuple[WatchInput, ...]
    stopping: tuple[WatchInput, ...]
    excuse: VarianceInput | None
    overtaken_by: WatchInput | None = None
    made_anew: PassInput | None = None
    pulled_back: PulledBack | None = None
    unreleased_until: datetime | None = None

    @property
    def watch(self) -> WatchInput | None:
        """The last watch."""
        return self.watches[-1] if self.watches else None

    @property
    def last_seen(self) -> WatchInput | None:
        """The last watch that saw it go by."""
        return next((one for one in reversed(self.watches) if one.seen), None)

    @property
    def is_before_exit(self) -> bool:
        """Whether it is a pass after the pilot, last seen while by the log the hole was not through."""
        seen = self.last_seen
        return seen is not None and seen.is_before_exit

    @property
    def bottomless(self) -> WatchInput | None:
        """The last watch that saw it go by, where a depth was read over a hole of unknown depth."""
        seen = self.last_seen
        return seen if seen is not None and bottom_is_unknown(seen) else None

    @property
    def stops(self) -> list[tuple[StopRule, WatchInput]]:
        """The stop rules that stand, each with the last watch that set it off."""
        found = {rule: watch for watch in self.stopping for rule in stops_of_watch(watch)}
        return list(found.items())

    @property
    def is_before_anew(self) -> bool:
        """Whether it was last watched after the pull-back, but before a rod was logged in place of those."""
        pulled, watch = self.pulled_back, self.watch
        return pulled is not None and watch is not None and pulled.withdrawn_at <= watch.watched_at

    @property
    def is_settled(self) -> bool:
        """Whether nothing of it stands in the way: seen in its order with nothing that stops, or excused."""
        is_seen = self.watch is not None and self.watch.seen
        return self.excuse is not None or (is_seen and not self.stopping and not self._others)

    @property
    def fault_keys(self) -> tuple[str, ...]:
        """The keys of `faults`."""
        shallower = (shallower_key(one) for one in self.stopping if is_shallower(one))
        return (*(one.watch_id for one in self.stopping), *shallower, *self._others)

    @property
    def _others(self) -> tuple[str, ...]:
        """The keys of what stands in its way but stops."""
        found = [] if self.overtaken_by is None else [_order_key(self.overtaken_by)]
        if self.made_anew is not None:
            found.append(_anew_key(self.made_anew))
        if self.pulled_back is not None:
            found.append(_pulled_key(self.pulled_back))
        if self.bottomless is not None:
            found.append(bottom_fault_key(self.bottomless))
        if self.unreleased_until is not None and self.last_seen is not None:
            found.append(_unreleased_key(self.last_seen))
        if self.is_before_exit and self.last_seen is not None:
            found.append(_exit_key(self.last_seen))
        return tuple(found)

    def faults(self, units: str, time_zone: str) -> tuple[Fault, ...]:
        """What stands in its way but that it was not seen, as a variance for it is bound to it."""
        found = [stop_fault(one, units, time_zone) for one in self.stopping]
        found += [
            Fault(shallower_key(one), since_words(one, units)) for one in self.stopping if is_shallower(one)
        ]
        if self.overtaken_by is not None:
            when = format_moment(self.overtaken_by.watched_at, time_zone)
            words = f"After it the {self.overtaken_by.pass_made} was seen, {when}."
            found.append(Fault(_order_key(self.overtaken_by), words))
        if self.made_anew is not None:
            when = format_moment(self.made_anew.made_at, time_zone)
            size = format_length(self.made_anew.diameter_m, units)
            words = self._since(f"a {self.pass_made} of {size} was made, {when}.")
            found.append(Fault(_anew_key(self.made_anew), words))
        if self.pulled_back is not None:
            when = format_moment(self.pulled_back.withdrawn_at, time_zone)
            rods = f"rod {self.pulled_back.number} and those after it were pulled back, {when}"
            words = self._since(f"{rods}.")
            if self.is_before_anew:
                words = (
                    f"{rods[0].upper()}{rods[1:]}; no rod was logged in their place before it was watched."
                )
            found.append(Fault(_pulled_key(self.pulled_back), words))
        if self.bottomless is not None:
            found.append(bottom_fault(self.bottomless, units, time_zone))
        if self.unreleased_until is not None and self.last_seen is not None:
            watched, until = (
                format_moment(one, time_zone) for one in (self.last_seen.watched_at, self.unreleased_until)
            )
            words = f"Watched {watched}, before anybody might drill: the first release stood from {until}."
            found.append(Fault(_unreleased_key(self.last_seen), words))
        if self.is_before_exit and self.last_seen is not None:
            when = format_moment(self.last_seen.watched_at, time_zone)
            words = f"Watched {when}, before the hole was through by the log of rods."
            found.append(Fault(_exit_key(self.last_seen), words))
        return tuple(found)

    def _since(self, words: str) -> str:
        """What was done since its last watch; where nobody watched it, at all."""
        return f"{words[0].upper()}{words[1:]}" if self.watch is None else f"After it was watched {words}"


def still_stopping(
    watches: Sequence[WatchInput], pulled_back: Sequence[PulledBack]
) -> tuple[WatchInput, ...]:
    """Those watches of a pass of which a stop rule still stands.

    Parameters
    ----------
    watches : sequence of WatchInput
        All of the pass, in order of time.
    pulled_back : sequence of PulledBack
        The pull-backs that reached the crossing: a watch before a rod is logged in place of those settles
        nothing, nor does one of a later pass before the hole was through.
    """
    found: list[WatchInput] = []
    for watch in watches:
        is_early = any(one.is_before_anew(watch.watched_at) for one in pulled_back) or watch.is_before_exit
        if watch.seen and not is_early:
            found = []
        if stops_of_watch(watch):
            found.append(watch)
    return tuple(found)


def _order_key(overtaking: WatchInput) -> str:
    return f"after {overtaking.watch_id}"


def _unreleased_key(watch: WatchInput) -> str:
    return f"unreleased {watch.watch_id}"


def _exit_key(watch: WatchInput) -> str:
    return f"before exit {watch.watch_id}"


def _anew_key(made: PassInput) -> str:
    return f"pass {made.pass_id}"


def _pulled_key(pulled: PulledBack) -> str:
    return f"pulled back {pulled.rod_id}"
