"""The solids and scenes that `check` writes beside its findings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from clearance.envelope.alike import Wait
    from clearance.envelope.build import Envelope
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp
    from clearance.zones.zone import Zone

Progress = Callable[[int, int, str], None]
_STEPS = 5
_NAMES = ("envelope", "envelope-required")


def begin_shapes(mockups: Sequence[MockUp], slack_mm: float) -> list[Wait]:
    """The envelopes that `shapes_of` writes for each of these, begun; those of corners that move alike once."""
    from clearance.envelope.alike import begin_alike

    asked = []
    for mockup in mockups:
        required = max((part.required_mm for part in mockup.parts if part.rides_on == "body"), default=0.0)
        asked.append((mockup, (0.0, required)))
    return begin_alike(asked, slack_mm=slack_mm, processes=2)


def shapes_of(
    mockup: MockUp, gaps: Sequence[Gap], slack_mm: float, progress: Progress, envelopes: Wait | None = None
) -> tuple[dict[str, bytes], list[str], list[tuple[str, Envelope]], tuple[Zone, ...]]:
    """File name and bytes of every shape, remarks that belong into the findings, the envelopes by file name, the zones.

    `envelopes` are those of `begin_shapes`, where they were begun already.
    """
    from clearance.export.glb import scene_glb, zones_glb
    from clearance.export.scan import coloured_scans, measured_scans
    from clearance.export.stl import stl
    from clearance.report.findings import worst_first
    from clearance.zones.body import body_of
    from clearance.zones.zone import zones_of

    progress(0, _STEPS, "building the envelope")
    envelopes = envelopes or begin_shapes((mockup,), slack_mm)[0]
    progress(1, _STEPS, "finding the zones")
    zones = zones_of(mockup, [gap.part for gap in gaps if gap.verdict != "clears"], gaps=gaps)
    right = mockup.right_hand
    files: dict[str, bytes] = {}
    if zones:
        # where nothing must go there is no file, rather than one with nothing in it
        files["zones.stl"] = stl([body_of(zone) for zone in zones], name="zones", right_hand=right)
        files["zones.glb"] = zones_glb(zones, right_hand=right)
    progress(2, _STEPS, "drawing the scene")
    worst, measured = worst_first(gaps)[0].position if gaps else None, measured_scans(mockup)
    files["scene.glb"] = scene_glb(mockup, worst=worst, zones=zones, measured=measured)
    progress(3, _STEPS, "colouring scans")
    files.update(coloured_scans(mockup, progress, measured=measured))
    progress(3, _STEPS, "building the envelope")
    made = envelopes(lambda done, _: progress(3 + done // 2, _STEPS, "building the envelope"))
    held, remarks = _envelope_files(mockup, made, slack_mm)
    named = [(f"{name}.stl", one) for name, one in zip(_NAMES, made, strict=True)]
    return {**held, **files}, remarks, named, zones


def _envelope_files(mockup: MockUp, made: Sequence[Envelope], slack_mm: float) -> tuple[dict[str, bytes], list[str]]:
    """Files of the envelope as it is and grown by the required gap, and what is proven of them."""
    from clearance.export.stl import stl
    from clearance.units import both
    from clearance.words.envelope import more_slack

    files: dict[str, bytes] = {}
    remarks = [
        words
        for name, envelope in zip(_NAMES, made, strict=True)
        if (words := more_slack(name, envelope.slack_mm, slack_mm))
    ]
    for name, envelope in zip(_NAMES, made, strict=True):
        files[f"{name}.stl"] = stl([(envelope.vertices_mm, envelope.faces)], name=name, right_hand=mockup.right_hand)
        grown_words = f", grown by {both(envelope.grown_mm)}" if envelope.grown_mm else ""
        remarks.append(
            f"{name}.stl holds the wheel, closed to a disc, at every position{grown_words}, and lies nowhere more than"
            f" {envelope.slack_mm:.2f} mm outside of that (both proven)."
        )
    return files, remarks
