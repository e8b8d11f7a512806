"""Ports that pyserial opens by URL: ``virtual://`` and ``replay://``."""
