"""Wheels: the rim, where the hub sits in it, the bolt circle and what holds it on."""
