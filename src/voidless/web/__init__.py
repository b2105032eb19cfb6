"""
The campaign as pages of a local server, to look at: nothing can be changed through it.

    app.py       create_app(): routes, each page with a `.json` twin
    pages.py     what pages there are, as data
    seam.py      where facts come from, and when they are read again
    guard.py     who may ask: this machine alone; what a page may load: nothing from elsewhere
    faults.py    errors, as one JSON shape or one page, with their true status
    server.py    serve(): starts it
    templates/   pages

Needs the extra `web`. Imports nothing heavy before `create_app` is called.
"""
