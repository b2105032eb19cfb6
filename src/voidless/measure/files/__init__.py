"""
What a file is, and its plain content.

    recognise.py   what a file is taken for, by content first
    limits.py      how large, how deep, how wide
    text.py        bytes to text
    rows.py        text or sheet to the rows of a table
    archive.py     members of zip archives
    sheets.py      sheets of spreadsheets
    photo.py       pixels of a photo, from its header
    labels.py      run, build, direction and trial in a file's name
"""
