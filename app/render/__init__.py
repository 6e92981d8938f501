"""Marks made visible: the one painter, PDF files, the printer."""
