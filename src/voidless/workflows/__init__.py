"""
One file a use case; what the command line, the pages and the Python API call.

Every function takes plain values and returns a plain dict: the object that ``--json`` prints.

    opening.py    a campaign's folder opened: file, ground facts, space, records
    clock.py      build time and filament of settings
    new.py plan.py make.py log.py read.py learn.py propose.py window.py sheet.py document.py
    predict.py part.py
    training.py   records -> what the learning model takes
    facts.py      the whole campaign as one dict, for documents and pages
"""
