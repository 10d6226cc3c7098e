"""What must go: connected patches of a part that are closer than required, or inside, with their words and bodies."""
