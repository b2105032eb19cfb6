"""
Three-point bending to strength and modulus (ISO 178).

    reduce.py   one curve
"""
