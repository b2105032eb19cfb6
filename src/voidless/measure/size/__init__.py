"""
Sizes of printed parts against what was drawn and fed.

    features.py   readings of features to signed size errors
    warp.py       heights over a plane
    flow.py       weighed mass against the volume of the toolpath
    read.py       tables of calliper readings and of heights
"""
