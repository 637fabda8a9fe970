"""Whose the records of bores are, for the gate before every page."""

from conflicts.models import Bore, DamageReport, Pit, Release, RouteJoint, Variance, VariancePaper
from locates.company_gate import know_no_company, know_subject

OF_BORE = "bore__job__organisation"


def make_known() -> None:
    """Have the gate know every part of an address that names a bore or a record of one."""
    know_subject("bore_id", Bore, "job__organisation")
    know_subject("damage_id", DamageReport, "job__organisation")
    know_subject("pit_id", Pit, OF_BORE)
    know_subject("joint_id", RouteJoint, "job__organisation")
    know_subject("release_id", Release, OF_BORE)
    know_subject("variance_id", Variance, OF_BORE)
    know_subject("variance_paper_id", VariancePaper, "variance__bore__job__organisation")
    know_no_company("pass_made", "a word")
    know_no_company("making_id", "a record of the bore that stands before it")
