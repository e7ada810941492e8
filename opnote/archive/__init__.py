"""Cases on disk. It deals in the text of a case file; what the text means is not its business."""

from opnote.archive.folder import ArchiveError, CaseFile, Draft, TheatreList

__all__ = ["ArchiveError", "CaseFile", "Draft", "TheatreList"]
