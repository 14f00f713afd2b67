"""Kills, cut power, full disks, rot, jumping clocks, hostile input and load, by one command."""
