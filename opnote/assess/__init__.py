"""Gaps, contradictions, adverse, unusual and due findings, and the score against each standard."""

from opnote.assess.assess import Assessment, Finding, Score, assess, scores_of

__all__ = ["Assessment", "Finding", "Score", "assess", "scores_of"]
