"""
How full a layer is: from volume, and from how far the cusps between beads close.

    closure.py  share of the cusps that stays open
    voids.py    void share with local scatter of the fill, share of length with voids
    contact.py  share of a weld that touches
"""
