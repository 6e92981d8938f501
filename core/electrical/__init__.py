"""Formulas and reference tables of the electrical trade. They know numbers, not plans."""
