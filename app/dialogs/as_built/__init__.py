"""As built: what was pulled and tested, photos, and panels that are closed, entered while the work goes on."""
