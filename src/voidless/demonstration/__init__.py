"""
The invented campaign and its virtual bench.

    target.py  the campaign file of an imaginary workshop
    truth.py   invented long-run means and scatter of an imaginary polymer on an imaginary printer
    bench.py   an imaginary workshop that leaves raw files
    diary.py   what that workshop logs
    story.py   what was found, in plain lines, beside the truth
    run.py     the campaign, through every stage, by the public workflows
"""
