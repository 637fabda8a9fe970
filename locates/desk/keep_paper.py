"""Keep a paper that came with an operator's answer."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.desk.save_record import hold_job, save_record
from locates.exchange.paper_guard import PaperError, check_paper
from locates.models import Response, ResponsePaper
from locates.models.paper_file import LARGEST_PAPER_BYTES

MOST_PAPERS = 20
"""On one answer; common practice, no source."""


def keep_paper(response: Response, file_name: str, raw: bytes, *, by: AbstractBaseUser) -> ResponsePaper:
    """Store a file as it came with an answer; the same file sent twice is stored once.

    Raises `PaperError` where it is none of those accepted, too large, or one too many, and
    `RetiredMeanwhileError` where the answer is retired.
    """
    checked = check_paper(file_name, raw, LARGEST_PAPER_BYTES)
    paper = ResponsePaper(
        response=response,
        file_name=checked.name,
        media_type=checked.media_type,
        size_bytes=len(checked.raw),
        sha256=checked.sha256,
        content=checked.raw,
    )
    with transaction.atomic():
        hold_job(paper.home_job_id)
        there = ResponsePaper.objects.filter(response=response).defer("content")
        same = there.filter(sha256=paper.sha256).first()
        if same is not None:
            return same
        if there.count() >= MOST_PAPERS:
            raise PaperError(f"{MOST_PAPERS} papers on this answer already", "one answer with fewer papers")
        save_record(paper, by=by)
    return paper
