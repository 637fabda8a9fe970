"""Two people who edit one record: what each did is told apart field by field, and nobody's words are lost."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms

from locates.errors import JobFileError
from locates.exchange.json_reader import read_json
from locates.forms.record_form import RecordForm, plain_text
from locates.forms.shown_back import MomentField
from locates.models.retirable import Retirable

MINE, THEIRS = "mine", "theirs"


@dataclass(frozen=True, slots=True)
class Difference:
    """A field that somebody else changed meanwhile, as texts for people."""

    label: str
    name: str
    was: str
    theirs: str
    mine: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Who changed a record while it was being edited, and what came of it."""

    by: str
    at: datetime | None
    taken: list[Difference]
    clashes: list[Difference]


def is_older(form: RecordForm) -> bool:
    """Whether a form that was sent in was opened on an older version than the record's."""
    return plain_text(form["version"].data) != str(form.instance.version)


def reconcile(form: RecordForm, present: Retirable) -> tuple[RecordForm, Conflict]:
    """The form anew, on the record as it is now, and what the two editors did.

    A field that only the other changed shows the other's value; one that only this person changed keeps it;
    where both did, this person's words stay in the field, the other's stand beside it, and one of the two is
    to be chosen.
    """
    fresh = type(form)(instance=present, job=form.job)
    opened, theirs, mine = _opened_with(form), fresh.shown_texts(), form.typed_texts()
    data = form.data.copy()
    taken, clashes = [], []
    for name in form.people_write():
        was = opened.get(name, theirs[name])
        if theirs[name] in (was, mine[name]):
            continue
        difference = _difference(fresh, name, was, theirs[name], mine[name])
        if mine[name] == was:
            data[form.add_prefix(name)] = theirs[name]
            taken.append(difference)
        else:
            clashes.append(difference)
    data["version"] = str(present.version)
    data["opened_with"] = json.dumps(theirs)
    data.setlist("clash", [one.name for one in clashes])
    anew = type(form)(data, instance=present, job=form.job)
    return anew, _conflict(present, taken, clashes)


def settle(form: RecordForm, present: Retirable) -> tuple[RecordForm, Conflict | None]:
    """The form with the other's value wherever it was chosen, and what is still to be chosen, if anything."""
    fresh = type(form)(instance=present, job=form.job)
    theirs, mine = fresh.shown_texts(), form.typed_texts()
    settled, open_ones = form.data.copy(), []
    for name in form.data.getlist("clash"):
        if name in theirs and form.data.get(f"settle-{name}") == THEIRS:
            settled[form.add_prefix(name)] = theirs[name]
        elif name in theirs and form.data.get(f"settle-{name}") != MINE:
            open_ones.append(_difference(fresh, name, "", theirs[name], mine[name]))
    settled.setlist("clash", [one.name for one in open_ones])
    anew = type(form)(settled, instance=present, job=form.job)
    return anew, _conflict(present, [], open_ones) if open_ones else None


def _difference(form: RecordForm, name: str, *texts: str) -> Difference:
    return Difference(str(form[name].label), name, *(_for_people(form, name, text) for text in texts))


def _conflict(present: Retirable, taken: list[Difference], clashes: list[Difference]) -> Conflict:
    by = present.edited_by.get_username() if present.edited_by else ""
    return Conflict(by, present.edited_at, taken, clashes)


def _opened_with(form: RecordForm) -> dict[str, Any]:
    try:
        opened = read_json(plain_text(form["opened_with"].data).encode())
    except JobFileError:
        return {}
    return opened if isinstance(opened, dict) else {}


def _for_people(form: RecordForm, name: str, text: str) -> str:
    """A field's text as people read it: a choice by its own words."""
    field = form.fields[name]
    if isinstance(field, forms.ChoiceField):
        for key, words in field.choices:
            if str(key) == text:
                return str(words)
    return (text.replace("T", " ") if isinstance(field, MomentField) else text) or "nothing"
