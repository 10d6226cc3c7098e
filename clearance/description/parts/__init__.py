"""[[part]]: a file for each kind, with its keys and the part of the well that they make."""
