"""Windows that ask: none of them blocks; each says through a signal or a callback what was decided."""
