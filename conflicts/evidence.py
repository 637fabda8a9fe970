"""The photos and papers of a variance beside what its signature covers."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from locates.canonical import canonical_text, digest_of

PHOTO, PAPER = "photo", "paper"
NONE_ATTACHED = "no evidence attached"


@dataclass(frozen=True)
class Evidence:
    """A photo or a paper as it is kept with a variance; where it is gone, what the signature tells of it."""

    kind: str
    file_name: str
    sha256: str
    record_id: str = ""
    what: str = ""
    size_bytes: int | None = None
    kept_at: datetime | None = None
    kept_by: str = ""

    @property
    def named(self) -> list[str]:
        """What a signature says of it: kind, file name, SHA-256."""
        return [self.kind, self.file_name, self.sha256]


@dataclass(frozen=True)
class EvidenceSheet:
    """Evidence by what a signature covers; ``is_named`` is False where it names none, as old ones do.

    ``covered`` stood when it was signed, or stands now where nothing is signed; ``after`` came later;
    ``missing`` is named by the signature and kept no longer.
    """

    covered: tuple[Evidence, ...]
    after: tuple[Evidence, ...]
    missing: tuple[Evidence, ...]
    is_named: bool

    @property
    def digest(self) -> str:
        """By which what a signer was shown is held against what stands at the signing."""
        return evidence_digest(self.covered)

    @property
    def is_none_attached(self) -> bool:
        """Whether the signature covers no photo and no paper, or would cover none: words alone."""
        return self.is_named and not (self.covered or self.missing)

    def groups(self) -> list[tuple[str, tuple[Evidence, ...]]]:
        """What is told of each part, with the part; those without evidence left out."""
        covered = "covered by the signature" if self.is_named else "not named by the signature"
        parts = (
            (covered, self.covered),
            ("gone, though the signature covers it", self.missing),
            ("added after the signature; not covered by it", self.after),
        )
        return [(words, part) for words, part in parts if part]


def evidence_digest(found: Iterable[Evidence]) -> str:
    """SHA-256 of a list of evidence, whatever its order.

    Parameters
    ----------
    found : iterable of Evidence

    Returns
    -------
    str
        Of the canonical JSON of what a signature would name, sorted.
    """
    return digest_of(canonical_text(sorted(one.named for one in found)))


def evidence_sheet(
    found: Sequence[Evidence], signed_at: datetime | None, covered: Sequence[Sequence[str]] | None
) -> EvidenceSheet:
    """Evidence beside a signature.

    Parameters
    ----------
    found : sequence of Evidence
        As it is kept now, in the order in which it is shown.
    signed_at : datetime or None
        None where nothing is signed: all would be covered.
    covered : sequence of [kind, file name, SHA-256], or None
        What the signature names; None where it was signed before signatures named evidence, and then the
        moments of both tell what came later.

    Returns
    -------
    EvidenceSheet

    Notes
    -----
    A file is told by its kind and its SHA-256; its name and moment prove nothing.
    """
    if signed_at is None:
        return EvidenceSheet(tuple(found), (), (), is_named=True)
    if covered is None:
        stood = [one for one in found if one.kept_at is None or one.kept_at <= signed_at]
        later = [one for one in found if one not in stood]
        return EvidenceSheet(tuple(stood), tuple(later), (), is_named=False)
    keys = {(kind, sha256) for kind, _, sha256 in covered}
    there = {(one.kind, one.sha256) for one in found}
    missing = [Evidence(kind, name, sha256) for kind, name, sha256 in covered if (kind, sha256) not in there]
    return EvidenceSheet(
        covered=tuple(one for one in found if (one.kind, one.sha256) in keys),
        after=tuple(one for one in found if (one.kind, one.sha256) not in keys),
        missing=tuple(missing),
        is_named=True,
    )
