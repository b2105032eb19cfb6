"""
Roughness from profiles (ISO 21920-2, filter of ISO 16610-21).

    profile.py    filter and parameters
    read.py       tables of position and height
"""
