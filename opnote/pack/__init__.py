"""A procedure's forms, checks, risks and wordings: read, validated, compiled."""
