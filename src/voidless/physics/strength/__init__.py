"""
Strength from what carries load.

    porosity.py  laws of strength against void share
    weld.py      strength across a weld: contact, healing, notch
    impact.py    impact strength of flat and upright specimens
    scatter.py   weakest link: scatter between specimens, length of a gauge
"""
