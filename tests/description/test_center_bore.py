"""The center bore is one fact: below [wheel], read by gauge, order card and inspection alike."""

from __future__ import annotations

from pathlib import Path

import pytest

import clearance
from clearance.errors import CornerFileError
from clearance.gauge.hub import hub_fit
from clearance.gauge.making import Making

PICKUP = Path(__file__).parents[2] / "fixtures" / "corners" / "orchard-pickup-rear.toml"
GIVEN = 'center_bore = "83 mm"'


@pytest.mark.parametrize("bore", [70.3, 83.0, 87.1])
def test_gauge_card_and_inspection_read_the_same_bore(bore):
    text = PICKUP.read_text(encoding="utf-8")
    assert GIVEN in text
    corner = clearance.read(text.replace(GIVEN, f'center_bore = "{bore} mm"'))
    fit, _ = hub_fit(corner.wheel, Making())
    assert fit.bore_mm == pytest.approx(bore + Making().hole_growth_mm)
    [line] = [row for row in clearance.order(corner).rows() if row["item"] == "center bore"]
    assert line["value"].startswith(f"{bore:.1f} mm")
    wheels = clearance.boxes([{"name": "one", "center_bore": f"{bore + 2} mm"}])
    [check] = [row for row in clearance.inspect(corner, wheels).to_dict()["checks"] if row["item"] == "center bore"]
    assert check["ordered"].startswith(f"{bore:.2f} mm")
    assert check["difference"] == pytest.approx(2.0)


def test_in_the_order_it_is_sent_to_the_wheel():
    text = PICKUP.read_text(encoding="utf-8").replace(GIVEN, "") + '[order]\ncenter_bore = "70.3 mm"\n'
    with pytest.raises(CornerFileError) as refused:
        clearance.read(text)
    assert refused.value.key == "order.center_bore"
    assert 'belongs below [wheel]. Write center_bore = "70.3 mm" there.' in str(refused.value)


@pytest.mark.parametrize("other", ["70.3 mm", "83 mm"])
def test_in_both_is_a_clash_with_both_lines(other):
    text = PICKUP.read_text(encoding="utf-8")
    line = text.splitlines().index(GIVEN) + 1
    with pytest.raises(CornerFileError) as refused:
        clearance.read(text + f'[order]\ncenter_bore = "{other}"\n')
    said = str(refused.value)
    assert f'center_bore is "{other}" here and "83 mm" below [wheel]' in said
    assert f"It contradicts wheel.center_bore, line {line}." in said
