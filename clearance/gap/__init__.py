"""The least distance between the wheel and a part, over the whole cycle or at one position, between two proven ends."""
