"""Intake: the template, reading, every fault at once, and de-identification."""
