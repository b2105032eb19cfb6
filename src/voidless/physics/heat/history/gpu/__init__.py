"""
The heat history on a graphics processor: the same kernel, one thread block a job.

    kernel/   what differs from `history.kernel` for whoever steps a column
    lane/     the kernel where a thread steps a column
    warp/     the kernel where a warp does, with a solve of its own
    memory.py a job's state as one piece of memory
    places.py arrays in it, found by 32-bit arithmetic
    simulated.py the same for the simulator
    launch.py the kernel of a batch, compiled
    run.py    histories of a batch of settings on one path
"""
