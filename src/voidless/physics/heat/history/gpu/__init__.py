"""
The heat history on a graphics processor: the same kernel, one thread block a job.

    kernel/   what differs from `history.kernel`: compiled.py, solve.py; the other files are loaded from there
    launch.py the kernel of a batch, compiled
    run.py    histories of a batch of settings on one path
"""
