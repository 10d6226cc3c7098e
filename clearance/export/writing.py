"""How wide writing is on paper, and writing broken into lines that fit."""

from __future__ import annotations

CAP_HEIGHT = 0.718
"""Height of a capital over the font size, Helvetica (Adobe font metrics)."""


def width_mm(text: str, height_mm: float, *, bold: bool = False) -> float:
    """How wide a line of Helvetica is, whose capitals are `height_mm` high."""
    from reportlab.pdfbase.pdfmetrics import stringWidth  # type: ignore[import-untyped]

    return float(stringWidth(text, "Helvetica-Bold" if bold else "Helvetica", height_mm / CAP_HEIGHT))


def in_lines(text: str, height_mm: float, room_mm: float, *, bold: bool = False) -> tuple[str, ...]:
    """The text in lines no wider than `room_mm`; a word that is wider stands alone."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(longer, height_mm, bold=bold) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)
