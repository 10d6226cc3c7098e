"""Answers as plain facts: numbers and words for JSON, mm and deg, signs as on the real car."""
