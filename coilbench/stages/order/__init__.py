"""The phase order: in which order the coils turn the shaft and which halves pair, by hand or by a helper board."""
