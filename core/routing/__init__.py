"""Arrays in, paths and trees out: no plan, no units, exact integer costs."""

from core.routing.shortest import Graph, Tree, path, tree

__all__ = ["Graph", "Tree", "path", "tree"]
