"""Load indices, speed symbols and chain room against published lists."""

from __future__ import annotations

import pytest

from clearance.tire.load import SPEED_KMH, load_at_kg, load_index_for, load_kg
from clearance.tire.room import CHAIN_ROOM_MM
from clearance.units import MM_PER_INCH

# index: kg, ISO 4000-1 / UN R30 annex 4 (from memory; 71 to 110 compared with a published list in pounds, no mismatch)
LOADS = {
    70: 335, 71: 345, 72: 355, 73: 365, 74: 375, 75: 387, 76: 400, 77: 412, 78: 425, 79: 437, 80: 450, 81: 462,
    82: 475, 83: 487, 84: 500, 85: 515, 86: 530, 87: 545, 88: 560, 89: 580, 90: 600, 91: 615, 92: 630, 93: 650,
    94: 670, 95: 690, 96: 710, 97: 730, 98: 750, 99: 775, 100: 800, 101: 825, 102: 850, 103: 875, 104: 900, 105: 925,
    106: 950, 107: 975, 108: 1000, 109: 1030, 110: 1060, 111: 1090, 112: 1120, 113: 1150, 114: 1180, 115: 1215,
    116: 1250, 117: 1285, 118: 1320, 119: 1360, 120: 1400, 121: 1450,
}  # fmt: skip


@pytest.mark.parametrize(("index", "kg"), LOADS.items())
def test_load_indices(index: int, kg: int) -> None:
    """ISO 4000-1 / UN R30 annex 4 (from memory); 86, 91, 99, 102 and 121 also from published pages."""
    assert load_kg(index) == kg
    assert load_index_for(kg) == index


def test_loads_follow_their_generator() -> None:
    """Preferred numbers of the R80 series (ISO 3): 45 kg x 10 ^ (index / 80); 2 % covers their rounding."""
    for index in range(60, 160):
        assert load_kg(index) == pytest.approx(45 * 10 ** (index / 80), rel=0.02)


def test_eighty_indices_up_is_ten_times_the_load() -> None:
    """The table repeats itself: index 70 is 335 kg and 150 is 3350 kg (from memory)."""
    assert load_kg(150) == 10 * load_kg(70)


@pytest.mark.parametrize(
    ("symbol", "kmh"),
    [("Q", 160), ("S", 180), ("T", 190), ("H", 210), ("V", 240), ("W", 270), ("Y", 300), ("L", 120), ("K", 110),
     ("G", 90), ("M", 130), ("R", 170)],
)  # fmt: skip
def test_speed_symbols(symbol: str, kmh: float) -> None:
    """EU tire label sheets print these."""
    assert SPEED_KMH[symbol] == kmh


def test_a_v_tire_carries_91_percent_at_240_and_a_w_tire_85_at_270() -> None:
    """A chassis textbook after UN R30; in between a straight line."""
    assert load_at_kg(95, "V", 240) == pytest.approx(0.91 * 690)
    assert load_at_kg(95, "W", 270) == pytest.approx(0.85 * 690)
    assert load_at_kg(95, "V", 210) == 690
    assert load_at_kg(95, "V", 225) == pytest.approx(0.955 * 690)


@pytest.mark.parametrize(("name", "tread_in", "side_in"), [("S", 1.46, 0.59), ("U", 1.97, 0.91), ("W", 2.50, 1.50)])
def test_chain_room(name: str, tread_in: float, side_in: float) -> None:
    """SAE J1232 through five independent pages, in inches; W is printed as 63.5 and as 64 mm, hence 0.6."""
    tread, side = CHAIN_ROOM_MM[name]
    assert tread == pytest.approx(tread_in * MM_PER_INCH, abs=0.6)
    assert side == pytest.approx(side_in * MM_PER_INCH, abs=0.2)
