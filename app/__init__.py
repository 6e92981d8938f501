"""The window of Loomwright."""
