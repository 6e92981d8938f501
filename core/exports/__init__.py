"""Tables and drawings for other programs: CSV, XLSX, SVG, DXF. Each library is imported when it is needed."""
