"""Invented practices with known truth: every animal, number, date and outcome here is made up."""
