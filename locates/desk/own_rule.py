"""Make a company's own version of a rule, or go back to the shipped one; neither touches another company."""

from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from locates.errors import ChangedMeanwhileError
from locates.models import JurisdictionRule, Organisation


def keep_own_rule(rule: JurisdictionRule, *, by: AbstractBaseUser, shown_id: UUID) -> JurisdictionRule:
    """Store an own version, which counts for its company from then on; one sent twice is stored once.

    Parameters
    ----------
    rule : JurisdictionRule
        Checked, not stored; names its company and code.
    by : AbstractBaseUser
        Who makes it; the record of changes tells it.
    shown_id : UUID
        The rule in use that the form was filled from.

    Returns
    -------
    JurisdictionRule
        As it is stored.

    Raises
    ------
    ChangedMeanwhileError
        Another version has come into use since; it carries that one.
    """
    with transaction.atomic():
        # Versions of a company are numbered one after the other.
        Organisation.objects.select_for_update().get(pk=rule.organisation_id)
        own = JurisdictionRule.objects.filter(organisation=rule.organisation_id, code=rule.code)
        there = own.filter(pk=rule.pk).first()
        if there is not None:
            return there
        _refuse_unseen(rule.code, rule.organisation_id, shown_id)
        rule.version = (own.aggregate(last=Max("version"))["last"] or 0) + 1
        rule.save(force_insert=True)
    return rule


def return_to_shipped(
    code: str, organisation_id: UUID, *, by: AbstractBaseUser, shown_id: UUID
) -> JurisdictionRule:
    """Retire a company's own versions of a rule, so that the shipped one counts; said twice it is said once.

    Returns the shipped one; raises `ChangedMeanwhileError` as `keep_own_rule`.
    """
    with transaction.atomic():
        Organisation.objects.select_for_update().get(pk=organisation_id)
        own = JurisdictionRule.objects.filter(organisation=organisation_id, code=code, retired_at=None)
        if own.exists():
            _refuse_unseen(code, organisation_id, shown_id)
            own.update(retired_at=timezone.now(), retired_by=by)
        return JurisdictionRule.objects.in_use_by(organisation_id).get(code=code)


def _refuse_unseen(code: str, organisation_id: UUID, shown_id: UUID) -> None:
    in_use = JurisdictionRule.objects.in_use_by(organisation_id).get(code=code)
    if in_use.pk != shown_id:
        raise ChangedMeanwhileError(in_use)
