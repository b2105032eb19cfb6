"""
The heat history on a graphics processor: the same kernel, settings of one path side by side.

    kernel/   what differs from `history.kernel`: how it is compiled, rows that are gone through seldom
    gang.py   settings that share the order of beads and the number of every tick
    memory.py the state of a gang in a few pieces of memory
    places.py arrays in them, found by few instructions
    walk.py   ranges that count by one
    simulated.py places for the simulator
    launch.py the kernel, compiled
    run.py    histories of a batch of settings on one path
"""
