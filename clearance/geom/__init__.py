"""Plane and space geometry in arrays alone: profiles, solids of revolution, paths, and distances with proven ends."""
