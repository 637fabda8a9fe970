"""Whether everything that is pulled on bears the pull, in sentences."""

from conflicts.pullback.forces import format_force
from conflicts.pullback.pull import Pull
from conflicts.pullback.weakest import Link, grip_fits, weakest_link
from locates.units import format_length


def held_against(pull: Pull, pull_n: float, narrowest_m: float, units: str) -> tuple[list[str], str]:
    """What speaks against the pull; where nothing does, the estimate against the weakest link."""
    bundle, gear = pull.bundle, pull.gear
    bears_n = None if gear.safe_pull_n is None else gear.safe_pull_n * bundle.count
    whole = "the conduits together" if bundle.count > 1 else "the conduit"
    links = [
        Link(whole, bears_n),
        Link("the swivel", gear.swivel_n),
        Link("the break-away link", gear.break_away_n),
    ]
    faults = [
        f"Nobody entered what {link.words} can bear: enter it." for link in links if link.bears_n is None
    ]
    faults += _grip_faults(pull, units)
    if bundle.circle_m >= narrowest_m:
        faults.append(
            f"The bundle measures {format_length(bundle.circle_m, units, 'up')} across and the hole "
            f"{format_length(narrowest_m, units, 'down')}: it does not go in."
        )
    if bears_n is not None and gear.break_away_n is not None and gear.break_away_n > bears_n:
        faults.append(
            f"The break-away link parts at {format_force(gear.break_away_n, units)}, after {whole} "
            f"would have been overloaded at {format_force(bears_n, units)}: take a weaker one."
        )
    weakest = weakest_link(links)
    if weakest is None or weakest.bears_n is None:
        return faults, ""
    against = f"{format_force(pull_n, units, 'up')} of pull; the weakest is {weakest.words}, with "
    against += format_force(weakest.bears_n, units, "down")
    if pull_n > weakest.bears_n:
        return [f"{against}: too little.", *faults], ""
    return faults, "" if faults else f"{against}: {weakest.bears_n / pull_n:.2f} times as much."


def _grip_faults(pull: Pull, units: str) -> list[str]:
    gear, inside_m = pull.gear, pull.bundle.inside_diameter_m
    if gear.grip_least_m is None or gear.grip_greatest_m is None:
        return ["Nobody entered which inside diameters the pulling grip takes: enter both."]
    if grip_fits(inside_m, gear.grip_least_m, gear.grip_greatest_m):
        return []
    least, greatest = (format_length(one, units) for one in (gear.grip_least_m, gear.grip_greatest_m))
    return [
        f"The conduit is {format_length(inside_m, units)} wide inside, and the pulling grip takes {least} to "
        f"{greatest}: take another."
    ]
