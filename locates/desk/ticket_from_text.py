"""A ticket's form filled from the text of a confirmation; a person confirms it."""

from dataclasses import dataclass

from locates.intake.ticket_text import Finding, contradicted, field_texts, read_text
from locates.models import Job, TextReader


@dataclass(frozen=True)
class ReadTicket:
    """What a text gave.

    Attributes
    ----------
    findings : list of Finding
    texts : dict
        Fields of the ticket's form to what is put there; operators are ids of the job's.
    unknown_operators : list of str
        Names that no operator of the job has.
    contradicted : set of str
        Fields left empty, since signs of different values stand in the text.
    """

    findings: list[Finding]
    texts: dict[str, str | list[str]]
    unknown_operators: list[str]
    contradicted: set[str]


def read_ticket(reader: TextReader, job: Job, text: str) -> ReadTicket:
    """Read a text with a reader, and find its operators among those of a job.

    Errors are those of `read_text`.
    """
    findings = read_text(reader.patterns, text, job.time_zone)
    texts = field_texts(findings)
    known = {_bare(name): str(key) for key, name in job.operators.values_list("pk", "name")}
    names = texts.pop("operators", [])
    texts["operators"] = [known[_bare(name)] for name in names if _bare(name) in known]
    return ReadTicket(
        findings=findings,
        texts=texts,
        unknown_operators=[name for name in names if _bare(name) not in known],
        contradicted=contradicted(findings),
    )


def _bare(name: str) -> str:
    """A name without capitals and with single blanks, as two people write the same one."""
    return " ".join(name.split()).casefold()
