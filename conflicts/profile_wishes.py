"""What a person asks of a profile, from plain figures."""

from conflicts.engine.profile_limits import ENOUGH_MARGIN_M, Range
from conflicts.profile_demands import ProfileWishes


def wishes_of(
    *,
    entry_depth_m: tuple[float, float] | None = None,
    exit_depth_m: tuple[float, float] | None = None,
    rig_back_m: float | None = None,
    rig_ahead_m: float | None = None,
    most_change_ratio: float | None = None,
    steepest_pitch_ratio: float | None = None,
    greatest_depth_m: float | None = None,
    unexposed_down_to_m: float | None = None,
    enough_margin_m: float | None = None,
) -> ProfileWishes:
    """What is asked for; None is what `ProfileWishes` has where nobody says.

    Parameters
    ----------
    entry_depth_m, exit_depth_m : (float, float) or None
        Least and greatest depth of the hole's centre at each end.
    rig_back_m, rig_ahead_m : float or None
        How far the rig may stand behind and after the recorded entry.
    most_change_ratio, steepest_pitch_ratio : float or None
    greatest_depth_m, unexposed_down_to_m, enough_margin_m : float or None
        As for `ProfileWishes`.
    """
    return ProfileWishes(
        entry_depth_m=None if entry_depth_m is None else Range(*entry_depth_m),
        exit_depth_m=None if exit_depth_m is None else Range(*exit_depth_m),
        rig_station_m=Range(-(rig_back_m or 0.0), rig_ahead_m or 0.0),
        most_change_ratio=most_change_ratio,
        steepest_pitch_ratio=None if steepest_pitch_ratio is None else abs(steepest_pitch_ratio),
        greatest_depth_m=greatest_depth_m,
        unexposed_down_to_m=unexposed_down_to_m,
        enough_margin_m=ENOUGH_MARGIN_M if enough_margin_m is None else enough_margin_m,
    )
