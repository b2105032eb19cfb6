"""
Results as figures, tables and documents.

Everything here takes the plain facts that workflows return (JSON types) and returns text.

    sheet.py      settings sheet, one A4 page
    document.py   report of a whole campaign, one HTML file
    runsheet.py   run sheet of one build, to print and to fill
    chain.py      picture of a prediction
    layer.py      picture of one layer of a toolpath
    figures/      facts -> charts, one question a file
    charts.py     what a chart shows, as data
    tables.py     the numbers behind it
    draw.py       charts -> SVG
    paint.py      how each kind of layer is painted
    vector.py     SVG made fit for a page
    page.py       templates and style
    words.py      names, units and numbers as people read them
    cautions.py   what can hurt, said where it matters
"""
