"""The corner put together: tire, wheel, suspension and the parts around them, as one value."""
