"""
The invented campaign and its virtual bench.

    truth.py   invented long-run means of an imaginary polymer on an imaginary printer
    bench.py   an imaginary workshop that leaves raw files
    run.py     the campaign, through every stage, by the public workflows
"""
