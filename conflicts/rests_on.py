"""The records that a variance rests on: one that is changed afterwards is another than was signed for."""

from dataclasses import replace
from hashlib import sha256

from conflicts.faults import Fault
from conflicts.inputs import BoreInputs, MarkInput
from conflicts.site_records import NamedCrossing

PLAN_WORDS = "The plan of the bore as it is recorded."


def plan_fault(inputs: BoreInputs) -> Fault:
    """The plan of a bore: its line, its profile, its pits, its size and what is wider than that."""
    plan = (
        inputs.alignment,
        inputs.final_diameter_m,
        inputs.ground,
        inputs.profile_by,
        inputs.profile,
        inputs.rods,
        inputs.pits,
        # Left out where nothing is wider, so that what was signed before there were passes stands.
        *([] if inputs.wider is None else [inputs.wider]),
    )
    return Fault(f"plan {record_key(plan)}", PLAN_WORDS)


def mark_fault(mark: MarkInput) -> Fault:
    """A mark without its test holes: whatever they change shows in the verdict and the figures."""
    return Fault(f"mark {record_key(replace(mark, holes=()))}", f"The mark {mark.ref} as it is recorded.")


def gone_fault(named: NamedCrossing) -> Fault:
    """A crossing as a release, or the entry of a rod, told it, of which the records know nothing any more."""
    told = (
        named.mark_id,
        named.mark_ref,
        named.kind,
        named.station_m,
        named.verdict,
        named.worst_case_m,
        named.required_m,
    )
    how = "it was released" if named.rod is None else f"rod {named.rod} met it"
    words = f"The crossing of {named.mark_ref} as {how}, which is not there any more."
    return Fault(f"gone {record_key(told)}", words)


def record_key(record: object) -> str:
    """The first 16 hexadecimal digits of the SHA-256 of a record's values; another one where any is changed.

    Parameters
    ----------
    record : object
        Of immutable values, whose text holds every digit of them.
    """
    return sha256(repr(record).encode()).hexdigest()[:16]
