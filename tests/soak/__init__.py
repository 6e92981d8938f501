"""Long trials: killed processes, hostile files, random work. Each runs briefly with the tests and long by hand."""
