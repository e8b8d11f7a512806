"""The engine that names a winding from readings and chooses the next one."""
