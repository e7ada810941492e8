"""opnote: from what was done in theatre to a checked, structured operative note."""

__version__ = "0.1.0"
