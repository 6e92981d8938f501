"""Formulas of the harness maker: bundles, securing points, crossings, bends, wrap, cutting. Numbers in, numbers out."""
