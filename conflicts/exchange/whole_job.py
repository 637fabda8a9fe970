"""A whole job in and out: all of it in one transaction, or nothing."""

from typing import Any

from django.db import IntegrityError, transaction

from conflicts.exchange.bore_plausibility import bore_plausibility_faults
from conflicts.exchange.bore_records import bore_features, bore_records
from conflicts.exchange.bore_rules import bore_faults
from conflicts.exchange.bores_in_file import bore_length_faults, bore_reference_faults
from conflicts.models import Bore, Pit, RouteJoint
from locates.changes import job_changed
from locates.desk.put_in_place import kept_for_good, of_job, put_in_place, records_in_place
from locates.errors import JobFileError, JobFileRefused
from locates.exchange.job_documents import job_members, locates_features
from locates.exchange.job_file import read_job_file
from locates.exchange.job_records import features_of, fill_job, locates_records, operators_of, store_records
from locates.exchange.schema_words import listed, nearest_words
from locates.exchange.whereabouts import error_at, show
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    JurisdictionRule,
    Linework,
    Mark,
    Organisation,
    Response,
    ResponsePaper,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from locates.models.organisation import DEFAULT_ORGANISATION
from locates.models.retirable import Retirable

SCHEMA_VERSION = 1

_RECORDS: dict[str, type[Retirable]] = {
    "ticket": Ticket,
    "mark": Mark,
    "test_hole": TestHole,
    "surface_feature": SurfaceFeature,
    "ground_point": GroundPoint,
    "linework": Linework,
    "bore": Bore,
    "pit": Pit,
}
REPLACED = (*_RECORDS.values(), FacilityOperator, ClearanceRequirement, Response, RouteJoint)
"""Kinds of record whose live ones make way for those of a file."""


def load_job(raw: bytes, *, replace: bool = False) -> Job:
    """Store the job of a job file.

    Raises `JobFileError`, and changes nothing, where anything is wrong with the file or where the database
    holds what the file cannot stand beside. With ``replace`` a job of the same organisation and name keeps
    its id; those of its records that the file names by id stay themselves and say what the file says, all
    others are retired. A job about which something is signed, or to which somebody put a photo or an
    operator's paper, is never replaced.
    """
    document = read_job_file(
        raw,
        meaning_rules=(bore_faults, bore_plausibility_faults),
        file_rules=(bore_reference_faults, bore_length_faults),
    )
    try:
        with transaction.atomic():
            return _store(document, replace=replace)
    except IntegrityError as error:
        raise _clash(error) from error


def export_job(job: Job) -> dict[str, Any]:
    """The job as a job file's document, which loads again to the same records, to the last digit."""
    with transaction.atomic():
        # Whoever changes the job's records touches its row before the change is seen: holding it keeps
        # the document of one moment.
        held = Job.objects.with_grounds().select_for_update(of=("self",)).get(pk=job.pk)
        return {
            "type": "FeatureCollection",
            "schema_version": SCHEMA_VERSION,
            "job": job_members(held),
            "features": [*locates_features(held), *bore_features(held)],
        }


def _store(document: dict[str, Any], *, replace: bool) -> Job:
    members = document["job"]
    organisation, _ = Organisation.objects.get_or_create(
        name=members.get("organisation", DEFAULT_ORGANISATION)
    )
    rule = _rule(members, organisation)
    job = _job_to_fill(organisation, members["name"], replace=replace)
    is_new = job._state.adding
    fill_job(job, organisation, rule, members)
    job.save()
    _refuse_ids_of_others(document, job)
    if is_new:
        operators = operators_of(job, document)
        store_records(locates_records(job, document, operators) | bore_records(job, document))
    else:
        put_in_place(job, records_in_place(job, document) | bore_records(job, document) | {RouteJoint: []})
    job_changed(job.id)
    return job


def _rule(members: dict[str, Any], organisation: Organisation) -> JurisdictionRule:
    """The rule that the company goes by, its own first; a job without any tolerance zone is refused."""
    rules = {rule.code: rule for rule in JurisdictionRule.objects.in_use_by(organisation.pk)}
    code = members["jurisdiction"]
    if code not in rules:
        raise JobFileError(
            field="job.jurisdiction",
            found=show(code),
            accepted=f"{nearest_words(code, rules)}the code of a known rule: {listed(sorted(rules))}",
        )
    if "tolerance_zone_m" not in members and rules[code].tolerance_zone_m is None:
        raise JobFileError(
            field="job.tolerance_zone_m",
            found="nothing",
            accepted=f"a number of metres: the rule of {code} gives no width",
        )
    return rules[code]


def _job_to_fill(organisation: Organisation, name: str, *, replace: bool) -> Job:
    """A new job, or the one of this name, which may be replaced; it and its bores locked until the end."""
    job = Job.objects.select_for_update().filter(organisation=organisation, name=name).first()
    if job is None:
        return Job()
    if not replace:
        raise JobFileError(
            field="job.name",
            found=f"{show(name)}, which a job of {organisation.name} has already",
            accepted="a new name, or --replace to put this job in its place",
        )
    # Whoever signs holds the job; who asks for a clearance record holds the bore alone.
    list(Bore.objects.select_for_update().filter(job=job).values_list("pk"))
    kinds = kept_for_good(job, REPLACED)
    if ResponsePaper.with_retired.filter(response__ticket__job=job).exists():
        # No job file could bring one back.
        kinds.append(str(ResponsePaper._meta.verbose_name))
    if kinds:
        raise _never_replaced(name, organisation, kinds)
    return job


def _never_replaced(name: str, organisation: Organisation, kinds: list[str]) -> JobFileError:
    return JobFileError(
        field="job.name",
        found=f"{show(name)}, a job of {organisation.name} about which something is signed or kept for"
        f" good ({listed(kinds)})",
        accepted="a new name: such a job is changed record by record, never replaced",
    )


def _refuse_ids_of_others(document: dict[str, Any], job: Job) -> None:
    """Refuse ids of records that another job holds."""
    errors = []
    for kind, model in _RECORDS.items():
        features = [feature for feature in features_of(document, kind) if "id" in feature]
        named = [feature["id"] for feature in features]
        of_others = model.with_retired.filter(pk__in=named).exclude(of_job(model, job))
        taken = of_others.values_list("pk", flat=True)
        taken_ids = {str(identifier) for identifier in taken}
        for index, feature in enumerate(document["features"]):
            if feature["properties"]["kind"] == kind and feature.get("id", "").lower() in taken_ids:
                errors.append(
                    error_at(
                        document,
                        ("features", index, "id"),
                        found=f"{show(feature['id'])}, which a {kind} of another job has, or a retired one",
                        accepted="an id of its own, or no id",
                    )
                )
    if errors:
        raise JobFileRefused(errors)


def _clash(error: IntegrityError) -> JobFileError:
    """What the database refused at the last moment: most often a second load of the same job just now."""
    diagnosis = getattr(error.__cause__, "diag", None)
    constraint = getattr(diagnosis, "constraint_name", None) or "no name"
    if constraint == "job_name_once":
        return JobFileError(
            field="job.name",
            found="a name that another load stored at this very moment",
            accepted="a new name, or --replace to put this job in its place",
        )
    return JobFileError(
        found=f"records that the database refuses ({constraint}); another load may have stored them just now",
        accepted="records that stand beside those which are there",
    )
