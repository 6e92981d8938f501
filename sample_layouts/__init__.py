"""Plans to open, and the modules that make them: `python3 -m sample_layouts.make_samples`."""
