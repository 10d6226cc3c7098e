"""Answers in words: a page of plain text for each, as a fabricator reads it; numbers with their unit and place."""
