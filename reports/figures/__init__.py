"""Figures: one module a question; answers in, plots out, nothing estimated and nothing saved."""
