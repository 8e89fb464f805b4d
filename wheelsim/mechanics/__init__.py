"""The mechanics of the wheel: how rim and spokes move and pull when nipples are turned or loads act."""
