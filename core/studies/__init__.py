"""Studies: analysis and edits together. What-if questions, remedies, proposals, variants, live cost."""
