"""Tires: markings, the dimensions behind them, and the section that they make on a rim."""
