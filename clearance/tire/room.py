"""Room for snow chains around a tire.

SAE J1232 asks for it about a tire that carries its load at 70 km/h on a straight, smooth road, in three classes of
chain; lengths are millimetres.
"""

from __future__ import annotations

CHAIN_ROOM_MM: dict[str, tuple[float, float]] = {"S": (37.0, 15.0), "U": (50.0, 23.0), "W": (64.0, 38.0)}
"""SAE J1232 class: room over the tread face and over each side wall, as five pages quote it (W: 63.5 to 64)."""
