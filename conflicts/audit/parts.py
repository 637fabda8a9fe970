"""The parts of the audit in the order in which a page lists them."""

from conflicts.audit.crossing_sections import EXCUSED, MARGINS, UNWATCHED
from conflicts.audit.record_sections import DAMAGE, EDITS, RELEASES, VARIANCES

SECTIONS = (RELEASES, UNWATCHED, MARGINS, EXCUSED, VARIANCES, EDITS, DAMAGE)
BY_CODE = {one.code: one for one in SECTIONS}
