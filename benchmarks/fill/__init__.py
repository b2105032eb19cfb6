"""Solid fill judged over specimens and parts, against a plain equal-spaced raster: see README.md."""
