"""What settles the gap of every part, written down so that it can be checked by what knows nothing of the search."""
