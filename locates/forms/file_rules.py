"""The job file's rules on what somebody typed into a form: the same bounds, told beside the field."""

import re
from collections.abc import Iterable, Mapping

from django import forms

from locates.errors import JobFileError
from locates.units import format_length

# A file has bare numbers, so its rules ask for the unit that was meant; in a form the unit was written.
_ASKS_FOR_UNIT = re.compile(r": [a-z]+(?: or [a-z]+)?\? .*$")
_BARE_START = re.compile(r"^-?[\d.]+(?:e[+-]?\d+)?, ")
_BARE_HEIGHT = re.compile(r"^(-?[\d.]+(?:e[+-]?\d+)?)(?=, where)")
_METRES = re.compile(r"(-?\d+(?:\.\d+)?) m\b")
_AT_MOST = re.compile(r"a number of metres, here at most (\S+)")
_FROM_TO = re.compile(r"a number of metres from (\S+) to (\S+)")
_LINE_OF_TABLE = re.compile(r"^(?:profile\.vertices|ground)\[(\d+)\]")
_MEMBER_OF_FORM = {
    "ticket_number": "ticket",
    "mark_ref": "mark",
    "explained_by_mark_ref": "explained_by_mark",
}


def tell_of_faults(
    form: forms.ModelForm, faults: Iterable[JobFileError], shape_field: str, places: Mapping[str, str]
) -> None:
    """Put faults of a record's feature beside the fields of its form.

    ``places`` names the field of a member that has another name in the form; a fault of the shape goes to
    ``shape_field``, one that no field answers for above the form.
    """
    units = form.job.show_units
    for fault in faults:
        root, _, rest = fault.field.partition(".")
        member = re.split(r"[.\[]", rest.removeprefix("rig."))[0]
        name = shape_field if root == "geometry" else {**_MEMBER_OF_FORM, **places}.get(member, member)
        line = _LINE_OF_TABLE.search(rest)
        words = for_people(fault, units)
        if line:
            words = f"Line {int(line[1]) + 1}: {words[0].lower()}{words[1:]}"
        form.add_error(name if name in form.fields else None, words)


def for_people(fault: JobFileError, show_units: str) -> str:
    """A fault in the words of a form, lengths in the job's units."""
    found = _BARE_START.sub("", _BARE_HEIGHT.sub(r"\1 m", _ASKS_FOR_UNIT.sub("", fault.found)))
    accepted = _AT_MOST.sub(r"\1 m at most", fault.accepted)
    accepted = _FROM_TO.sub(r"a length from \1 m to \2 m", accepted).replace("a number of metres", "a length")
    accepted = accepted.replace("in the same file", "of the job").replace("of the file", "of the job")

    def length(match: re.Match[str]) -> str:
        return format_length(float(match[1]), show_units)

    return f"Found {_METRES.sub(length, found)}; accepted: {_METRES.sub(length, accepted)}."
