"""What tests ask of a gauge's bodies and of a tub, asked of the general libraries themselves."""

from __future__ import annotations


def is_sound(body):
    """Is it closed, oriented, of one piece, and of positive volume?"""
    import manifold3d as m3

    closed = body.status() == m3.Error.NoError and not body.is_empty()
    return bool(closed and body.volume() > 0 and len(body.decompose()) == 1)


def covers(tub, vertices, from_mm):
    """How far the furthest vertex above the base stands through the tub; zero or less where it holds them all."""
    from shapely import Point

    above = vertices[vertices[:, 2] > from_mm]
    panel = tub.panel
    beyond = max(panel.distance(Point(x, z)) for x, z in above[:, [0, 2]])
    return float(max(beyond, tub.inboard_mm - above[:, 1].min(), above[:, 1].max() - tub.outboard_mm))
