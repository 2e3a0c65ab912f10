"""Replybook: what players at your students' level really play."""

__version__ = "0.1.0"
