"""The envelope: a closed surface that holds the tire and wheel at every position of the cycle."""
