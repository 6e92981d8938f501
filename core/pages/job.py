"""What the child process that makes PDFs is told: papers as pages of marks, as one JSON document."""

import msgspec

from core.pages.marks import Page


class PaperJob(msgspec.Struct, frozen=True, kw_only=True):
    """One PDF: where to write it, its title, its pages."""

    path: str
    title: str
    pages: tuple[Page, ...]


class RenderJob(msgspec.Struct, frozen=True, kw_only=True):
    papers: tuple[PaperJob, ...]


def encode_job(job: RenderJob) -> bytes:
    return msgspec.json.encode(job)


def decode_job(data: bytes) -> RenderJob:
    """Raises msgspec.DecodeError for anything but an encoded job."""
    return msgspec.json.decode(data, type=RenderJob)
