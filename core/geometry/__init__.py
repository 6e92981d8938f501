"""Geometry: millimetres in, millimetres out. Import from the modules; this package re-exports nothing.

plane     points, polylines, placements            polygon   areas: inside, clip
edges     edges and lines of a surface             foldout   place on the sheet, pose in the vehicle
joints    where surfaces meet, mapping of points   seams     proposed seams, whether they close, letters
refold    a fold exchanged with a seam             stroke    a line on the sheet cut into surfaces
shortest  shortest way over folded surfaces        snap, nearby, packing
"""
