"""The arithmetic of the trade: pure functions with units; no files, no window."""
