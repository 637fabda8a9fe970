"""The job file, from bytes to a document that is sound in form and in meaning."""

from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from typing import Any

from locates.errors import MOST_COUNTED, JobFileError, JobFileRefused
from locates.exchange.areas import area_faults
from locates.exchange.job_file_schema import schema_faults
from locates.exchange.json_reader import read_json
from locates.exchange.plausibility import job_plausibility_faults, plausibility_faults
from locates.exchange.positions import IndexedFeature, distance_faults, position_faults
from locates.exchange.record_rules import form_faults, job_faults, record_faults
from locates.exchange.references import reference_faults

Rule = Callable[[Any, list[IndexedFeature]], Iterator[JobFileError]]
"""What looks at features of a document and yields what is wrong with them."""

FEATURES_AT_A_TIME = 500

FORM_RULES: tuple[Rule, ...] = (form_faults, position_faults)
MEANING_RULES: tuple[Rule, ...] = (area_faults, record_faults, plausibility_faults)
FILE_RULES: tuple[Rule, ...] = (reference_faults, distance_faults)


def read_job_file(
    raw: bytes, *, meaning_rules: Iterable[Rule] = (), file_rules: Iterable[Rule] = ()
) -> dict[str, Any]:
    """Document of a job file that holds nothing wrong as far as the file alone can tell.

    Parameters
    ----------
    raw : bytes
        The file.
    meaning_rules : iterable of rules, optional
        More rules on single features whose form is sound.
    file_rules : iterable of rules, optional
        More rules on the whole of a file in which every feature is sound.

    Returns
    -------
    dict
        The FeatureCollection, as the schema describes it.

    Raises
    ------
    JobFileError
        With everything that is wrong in `errors`. What does not fit the schema hides what its feature
        means, and a faulty feature hides what the features mean together, until it is mended.
    """
    document: Any = read_json(raw)
    errors = list(islice(schema_faults(document), MOST_COUNTED))
    if any(error.feature is None for error in errors):
        raise _refused(errors)
    errors += [*job_faults(document), *job_plausibility_faults(document)]
    for rules in (FORM_RULES, (*MEANING_RULES, *meaning_rules)):
        if len(errors) >= MOST_COUNTED:
            # Counting stopped: a feature without an error so far need not be sound.
            raise _refused(errors)
        errors += _faults(document, rules, errors)
    errors = errors or _faults(document, (*FILE_RULES, *file_rules), [])
    if errors:
        raise _refused(errors)
    return dict(document)


def added_faults(
    document: Any,
    since: int,
    *,
    meaning_rules: Iterable[Rule] = (),
    file_rules: Iterable[Rule] = (),
    told: Callable[[int], None] = lambda count: None,
) -> list[JobFileError]:
    """What is wrong with features that are added to a job, by the rules of the job file.

    Parameters
    ----------
    document : dict
        Of the whole job, the added features last.
    since : int
        Index of the first that is added; what is wrong with those before it is not told.
    meaning_rules, file_rules : iterable of rules, optional
        As for `read_job_file`.
    told : callable, optional
        Takes how many of the added features are held against the schema, now and then.

    Returns
    -------
    list of JobFileError
        In the order of the added features, each with its index in the document. As in a file, what is wrong
        with the form of a feature hides what it means, and any fault hides what the features mean together.
    """
    indexed = list(enumerate(document["features"]))
    errors = list(islice(_added_schema_faults(document, since, told), MOST_COUNTED))
    # The type of a mark says how deep its test holes may be, so marks that are there stand beside.
    marks = [one for one in indexed[:since] if one[1]["properties"]["kind"] == "mark"]
    for rules, beside in ((FORM_RULES, []), ((*MEANING_RULES, *meaning_rules), marks)):
        faulty = {error.feature for error in errors}
        sound = [one for one in indexed[since:] if one[0] not in faulty]
        for rule in rules:
            errors += _of_added(islice(rule(document, [*beside, *sound]), MOST_COUNTED), since)
    if not errors:
        for rule in (*FILE_RULES, *file_rules):
            errors += _of_added(rule(document, indexed), since)
    return sorted(errors, key=_place)[:MOST_COUNTED]


def _added_schema_faults(document: Any, since: int, told: Callable[[int], None]) -> Iterator[JobFileError]:
    """Faults of the added features alone, some features at a time."""
    count = len(document["features"])
    for start in range(since, count, FEATURES_AT_A_TIME):
        end = min(start + FEATURES_AT_A_TIME, count)
        some = {**document, "features": document["features"][start:end]}
        yield from (_moved(error, start) for error in schema_faults(some) if error.feature is not None)
        told(end - since)


def _of_added(errors: Iterable[JobFileError], since: int) -> list[JobFileError]:
    return [error for error in errors if error.feature is not None and error.feature >= since]


def _moved(error: JobFileError, since: int) -> JobFileError:
    return JobFileError(
        found=error.found,
        accepted=error.accepted,
        field=error.field,
        feature=None if error.feature is None else error.feature + since,
        feature_name=error.feature_name,
    )


def _refused(errors: list[JobFileError]) -> JobFileRefused:
    return JobFileRefused(sorted(errors, key=_place)[:MOST_COUNTED])


def _faults(document: Any, rules: Iterable[Rule], errors: list[JobFileError]) -> list[JobFileError]:
    """What the rules find in the features that hold no error yet."""
    faulty = {error.feature for error in errors}
    sound = [(index, feature) for index, feature in enumerate(document["features"]) if index not in faulty]
    return [fault for rule in rules for fault in islice(rule(document, sound), MOST_COUNTED)]


def _place(error: JobFileError) -> int:
    return -1 if error.feature is None else error.feature
